package costing

import (
	"time"

	"tackfree/pkg/apportion"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// SpentAgain is what was spent, or worked, on doing something again.
type SpentAgain struct {
	Piece      id.ID
	Stage      id.ID  // id.Nil: it was not told
	StageKind  string // empty: likewise
	Group      GroupKind
	Account    Account // that bore it; empty: it is time alone
	OccurredAt time.Time
	WorkedAt   time.Time // by which it is known which sending back it is of
	Amount     money.Amount
	Time       time.Duration
}

// Pass is that a stage of a piece was sent back, for what an inspection found: kinds of defects, each
// as often as it was found; none if it was sent back without one.
type Pass struct {
	ID      id.ID // the event's
	Stage   id.ID
	Kind    string
	At      time.Time
	Defects []string
}

// Hand is how long somebody worked on the first pass of a stage.
type Hand struct {
	Stage     id.ID
	StageKind string
	Person    id.ID
	Name      string
	Time      time.Duration
}

// ReworkCost is what doing things again cost.
type ReworkCost struct {
	Of
	Labour, Premium, Burden, Overhead, Material, Outside money.Amount
	Time                                                 time.Duration
}

// Cost is the sum of all.
func (w ReworkCost) Cost() money.Amount {
	return w.Labour + w.Premium + w.Burden + w.Overhead + w.Material + w.Outside
}

func (w *ReworkCost) add(x ReworkCost) {
	w.Labour += x.Labour
	w.Premium += x.Premium
	w.Burden += x.Burden
	w.Overhead += x.Overhead
	w.Material += x.Material
	w.Outside += x.Outside
	w.Time += x.Time
}

// split shares it out by weights, so that the shares add up to it.
func (w ReworkCost) split(weights []int64) []ReworkCost {
	out := make([]ReworkCost, len(weights))
	share := func(of func(*ReworkCost) *money.Amount) {
		for i, part := range apportion.Split(*of(&w), weights) {
			*of(&out[i]) = part
		}
	}
	share(func(w *ReworkCost) *money.Amount { return &w.Labour })
	share(func(w *ReworkCost) *money.Amount { return &w.Premium })
	share(func(w *ReworkCost) *money.Amount { return &w.Burden })
	share(func(w *ReworkCost) *money.Amount { return &w.Overhead })
	share(func(w *ReworkCost) *money.Amount { return &w.Material })
	share(func(w *ReworkCost) *money.Amount { return &w.Outside })
	for i, ms := range apportion.Split(w.Time.Milliseconds(), weights) {
		out[i].Time = time.Duration(ms) * time.Millisecond
	}
	return out
}
