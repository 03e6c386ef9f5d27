// Package costing is what pieces cost and earn: double-entry books in minor units, and
// the rules by which an event becomes lines in them. No clock, database or wire.
//
//	event ─▶ Book ─▶ transactions (each adds up to zero) ─▶ sums of each piece
//
// The rules are written so that the order in which events arrive never matters, which
// is what lets the books be rebuilt to the last line:
//
//   - The cost of a stretch of labour depends on the stretch and on the pay rates that
//     were known when it was recorded. A rate recorded later adds one adjusting
//     transaction for each stretch it changes.
//   - A correction takes the old stretch away, at the rates known at the correction, and
//     adds the new one.
//   - What material cost is told by whoever keeps the stock. When something earlier is written
//     down later, they tell what each thing cost before and costs now, and the difference is
//     booked: a sum, in which no order matters.
//   - Cost gathers in work in process. For each sale, return or scrap of a piece and each
//     cost line of it, one transaction moves the amount on, whichever of the two came
//     first.
//
// A stretch of labour is rounded once, half to even, to the minor unit, be it on one stage or
// on a batch, whose shares add up to it; everything else is a sum.
package costing

import (
	"fmt"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Account is an account of the ledger.
type Account string

// The accounts. Debits count positive, credits negative.
const (
	CashClearing         Account = "cash_clearing"
	MaterialsOnHand      Account = "materials_on_hand"
	OverheadActual       Account = "overhead_actual"       // what the shop used up for no piece: expired, spoilt, spilt …
	InventoryAdjustments Account = "inventory_adjustments" // what counts found missing, less what they found too much
	WorkInProcess        Account = "work_in_process"
	CostOfGoodsSold      Account = "cost_of_goods_sold"
	ScrapLoss            Account = "scrap_loss"
	WagesPayable         Account = "wages_payable"
	IndirectLabour       Account = "indirect_labour"  // of no piece: cleaning, training …
	AccountsPayable      Account = "accounts_payable" // what others billed
	Revenue              Account = "revenue"
	TaxPayable           Account = "tax_payable"
	ChannelFees          Account = "channel_fees"
)

// Bucket is the line of a piece's cost sheet that a ledger line counts in; lines that
// only move cost from one account to another are in none.
type Bucket string

// The lines of a cost sheet.
const (
	NoBucket    Bucket = ""
	Acquisition Bucket = "acquisition"
	Labour      Bucket = "labour"
	Material    Bucket = "material"
	Outside     Bucket = "outside" // work of others
	Rework      Bucket = "rework"
	Fees        Bucket = "fees"
	Earned      Bucket = "revenue"
	Tax         Bucket = "tax"
)

// Line is one side of a transaction.
type Line struct {
	Account   Account
	Bucket    Bucket
	Piece     id.ID // id.Nil: about no piece
	Person    id.ID // whose labour; id.Nil: not labour
	Stage     id.ID // that the labour was on; id.Nil: on none, or not labour
	StageKind string
	Amount    money.Amount
}

// Transaction is lines that add up to zero.
type Transaction struct {
	ID         id.ID // the event's, or derived from what it follows from
	Event      id.ID
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
	OccurredAt time.Time
	RecordedAt time.Time
}

// transaction begins the event's own transaction.
func (f Fact) transaction(lines ...Line) Transaction {
	return Transaction{ID: f.ID, Event: f.ID, OccurredAt: f.OccurredAt, RecordedAt: f.RecordedAt, Lines: lines}
}
