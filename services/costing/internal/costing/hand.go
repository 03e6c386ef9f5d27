package costing

import (
	"slices"
	"time"

	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// Unsold are the accounts in which the cost of pieces in hand stands.
var Unsold = []Account{WorkInProcess, Again, FinishedGoods}

// InHand is a piece that is neither sold nor given up, and how it stands.
type InHand struct {
	Sheet
	LastWork   time.Time // when somebody last worked on it; zero: nobody did
	Done       int32     // stages
	Stages     int32     // of the plan
	FinishedAt time.Time // zero: it is not
}

// DaysHere is for how many days it has been here; of one that intake has not told of yet, none.
func (p InHand) DaysHere(now time.Time, zone *time.Location) int {
	return daysSince(p.CameAt, now, zone)
}

// DaysIdle is for how many days nobody has worked on it.
func (p InHand) DaysIdle(now time.Time, zone *time.Location) int {
	return daysSince(later(p.LastWork, p.CameAt), now, zone)
}

// DaysFinished is for how many days it has been finished.
func (p InHand) DaysFinished(now time.Time, zone *time.Location) int {
	return daysSince(p.FinishedAt, now, zone)
}

func daysSince(at, now time.Time, zone *time.Location) int {
	if at.IsZero() {
		return 0
	}
	return daysBetween(at, now, zone)
}

// Tied is the shop's money that is in things, and beside it what was booked as owed. Payments are booked in
// the shop's own general ledger, not here: what is owed here only grows, and says nothing of what is tied up.
type Tied struct {
	In, Owed []ledger.Balance // in the chart's order; what is owed counts positive
	Total    money.Amount     // of what is in things
}

// Tied says what of all balances is tied up: all that is owned but the cash itself.
func (r *Rules) Tied(balances []ledger.Balance) (t Tied) {
	p := r.Position(balances)
	t.In = slices.DeleteFunc(p.Assets.Lines, func(b ledger.Balance) bool { return b.Account == CashClearing })
	t.Owed = p.Liabilities.Lines
	for _, b := range t.In {
		t.Total += b.Amount
	}
	return t
}
