// Package ledger is double entry as data: a chart of accounts, and rules by which a thing that
// happens becomes debits and credits. Trade, pure.
//
//	rules, as a bookkeeper writes them ── Parse ─▶ Chart
//	"sold", 300.00, 24.75, 30.00 ── Chart.Rule("sold").Lines ─▶ lines that add up to zero
//	balances ── Trial, Earned, Position ─▶ what a bookkeeper reads
//
// A rule names its amounts and says on which accounts each is debited and credited. Parse refuses
// one whose debits and credits are not the same for whatever amounts, by its name; so a
// transaction that a rule makes cannot be out of balance. Debits count positive, credits negative.
package ledger
