// Package costing is what pieces cost and earn: double-entry books in minor units, and
// the rules by which an event becomes lines in them. No clock, database or wire.
//
//	rules.yaml ─ how each kind of thing is booked
//	event ─▶ Book ─▶ transactions (each adds up to zero) ─▶ sums of each piece
//	          └▶ groups: what follows from several events ─▶ Settle ─▶ the difference to what is posted
//
// The rules are written so that the order in which events arrive never matters, which
// is what lets the books be rebuilt to the last line:
//
//   - What an event costs by itself is posted under it. The price of a stretch of labour, its burden
//     and its overhead depend on the stretch and on the terms (pay rates, burdens, overhead rates) that
//     were known when it was recorded. A term recorded later adds one adjusting transaction for each
//     stretch it changes.
//   - A correction takes the old stretch away, at the terms known at the correction, and
//     adds the new one, each as of when the work ended. So does that of a purchase: the old price is
//     taken away and the new one added, both as of when the piece or the lot was taken in.
//   - What material cost is told by whoever keeps the stock. When something earlier is written
//     down later, or was a slip, they tell what each thing cost before and costs now, and the
//     difference is booked as of when that thing happened: a sum, in which no order matters. What is on
//     hand at any instant is what the stock then was worth, by all that is known now. Where an event
//     does not say when the thing happened, the difference counts from when the event did.
//   - What follows from several events together (where the cost of a piece stands, overtime of a
//     week, the split of a lot) is a group. A pure function says which lines the group comes to, by
//     all that is known of it; the difference to what is posted is posted. So rows are only ever
//     added, and what a group comes to depends on the events and not on their order.
//   - Entries of a person that contradict each other cannot all be right, and which one is nobody knows
//     before it is corrected. Each is paid for as it stands; in what the week comes to (overtime, paid breaks,
//     rounding) a moment that several have counts once: for the one that began first, of those that began together
//     for the one with the smallest id. What was taken away and never was there counts there for nothing.
//
// A stretch of labour is rounded once, half to even, to the minor unit, be it on one stage or
// on a batch, whose shares add up to it; everything else is a sum.
package costing

import (
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// Account is an account of the ledger; debits count positive, credits negative.
type Account = ledger.Account

// The accounts that the books themselves look for. All others are in the rules alone.
const (
	WorkInProcess   Account = "work_in_process" // what a piece cost, until it is finished, sold or lost
	Again           Account = "rework"          // of that, what was done again
	FinishedGoods   Account = "finished_goods"  // what it cost when it is done and not sold
	MaterialsOnHand Account = "materials_on_hand"
	WagesPayable    Account = "wages_payable"
	BurdenPayable   Account = "burden_payable"
	CashClearing    Account = "cash_clearing"       // the shop's cash, of which the books know only what comes and goes for pieces
	Receivable      Account = "accounts_receivable" // what buyers owe
	// Of these three a month that is closed takes what is on them.
	OverheadApplied Account = "overhead_applied" // what pieces carried
	OverheadSpent   Account = "overhead_actual"  // what was really spent
	IndirectLabour  Account = "indirect_labour"
)

// Bucket is the line of a piece's cost sheet that a ledger line counts in; lines that
// only move cost from one account to another are in none.
type Bucket string

// The lines of a cost sheet.
const (
	NoBucket    Bucket = ""
	Acquisition Bucket = "acquisition"
	Labour      Bucket = "labour"
	Premium     Bucket = "premium"  // of overtime
	OnPay       Bucket = "burden"   // employer's taxes and insurance
	Overhead    Bucket = "overhead" // applied
	Material    Bucket = "material"
	Outside     Bucket = "outside" // work of others
	Rework      Bucket = "rework"  // all of the former, of later passes
	Fees        Bucket = "fees"
	Earned      Bucket = "revenue"
	Tax         Bucket = "tax"
)

var buckets = []Bucket{NoBucket, Acquisition, Labour, Premium, OnPay, Overhead, Material, Outside, Rework, Fees, Earned, Tax}

func (b Bucket) known() bool { return slices.Contains(buckets, b) }

// homeOf is the account in which a cost stands while its piece is in process; empty: it is no cost.
func homeOf(b Bucket) Account {
	switch b {
	case Acquisition, Labour, Premium, OnPay, Overhead, Material, Outside:
		return WorkInProcess
	case Rework:
		return Again
	}
	return ""
}

// Line is one side of a transaction.
type Line struct {
	Account   Account
	Bucket    Bucket
	Piece     id.ID // id.Nil: about no piece
	Person    id.ID // whose labour; id.Nil: not labour
	Stage     id.ID // that the labour was on; id.Nil: on none, or not labour
	StageKind string
	Again     bool // about work that is done again
	Amount    money.Amount
}

// Transaction is lines that add up to zero.
type Transaction struct {
	ID         id.ID // the event's, or derived from what it follows from
	Event      id.ID
	Group      Group // the zero group: it follows from its event alone
	OccurredAt time.Time
	RecordedAt time.Time
	Lines      []Line
}

// Check refuses a transaction that does not add up to zero: a bug in a rule.
func (t Transaction) Check() error {
	var sum money.Amount
	for _, l := range t.Lines {
		sum += l.Amount
	}
	if sum != 0 {
		return fmt.Errorf("transaction %s of event %s is out of balance by %d minor units", t.ID, t.Event, sum)
	}
	return nil
}

// Fact is what every event tells.
type Fact struct {
	ID         id.ID
	Piece      id.ID
	Stage      id.ID // of what was used at a stage; id.Nil: of none, or the event does not say
	Thing      id.ID // of the several that an event tells of; id.Nil: the one that it is of
	OccurredAt time.Time
	RecordedAt time.Time
}

// Of is a fact about one of the several things that an event tells of, as of an instant of its own.
func (f Fact) Of(thing id.ID, at time.Time) Fact {
	f.Thing, f.OccurredAt = thing, at
	return f
}

// transaction begins the event's own transaction, or that of one of the things that it tells of.
func (f Fact) transaction(lines ...Line) Transaction {
	t := Transaction{ID: f.ID, Event: f.ID, OccurredAt: f.OccurredAt, RecordedAt: f.RecordedAt, Lines: lines}
	if f.Thing != id.Nil {
		t.ID = id.From(f.ID, f.Thing)
	}
	return t
}

// about begins the transaction of one of the several things that a fact tells of.
func (f Fact) about(thing id.ID, lines ...Line) Transaction {
	return f.Of(thing, f.OccurredAt).transaction(lines...)
}
