package materials

import (
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
)

// NeedState is how far a need has come.
type NeedState string

// The states of a need. What was sent back needs anew, in its next pass.
const (
	NeedOpen    NeedState = "open"
	NeedDone    NeedState = "done"    // its stage was finished in that pass
	NeedDropped NeedState = "dropped" // it was planned otherwise, or the piece was given up
)

// NeedKey is what a need is of: one product, at one stage, in one pass of it.
type NeedKey struct {
	Stage, Product id.ID
	Pass           int32
}

// Need is what a stage takes of a product in one pass. Amounts are in Unit.
type Need struct {
	NeedKey
	Piece    id.ID
	Title    string // "topcoat-1 (top)"
	Kind     string
	Method   string // of application, by the data sheet; empty: there was none
	Unit     string
	Planned  decimal.Decimal // by the data sheet; zero: nobody knows how much
	Quantity decimal.Decimal // Planned, by what the shop really takes
	Due
	State   NeedState
	NotedAt time.Time
	DoneAt  time.Time // zero: it is not done
}

// Due is when something can be wanted.
type Due struct {
	Soonest time.Time     // for all that was known when it was reckoned
	Work    time.Duration // that has to be done before it and is not begun
	Latest  time.Time     // it must begin by then for what was promised; zero: nothing was
}

// Wanted is the soonest that it can be wanted, as seen at an instant: what was not begun by then
// has still to be done.
func (d Due) Wanted(now time.Time) time.Time {
	if from := now.Add(d.Work); from.After(d.Soonest) {
		return from
	}
	return d.Soonest
}

// OpenNeed is what an open need still reserves of what is on hand, or is to be bought.
type OpenNeed struct {
	Product, Piece, Stage id.ID
	Pass                  int32
	Title, Kind           string
	Reserved              decimal.Decimal // in the product's unit, above zero: Quantity less what was issued
	Due
	NotedAt time.Time
}
