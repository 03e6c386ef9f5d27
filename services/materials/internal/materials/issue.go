package materials

import (
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
)

// Piece is where material goes, as far as materials must know it: how often something
// went to it or was taken back.
type Piece struct {
	ID      id.ID
	Version int64
}

// Stage is where in a piece material goes: a stage in one of its passes.
type Stage struct {
	ID       id.ID
	Piece    id.ID
	Kind     string
	Pass     int32 // above 1: the stage is done again, so what it takes is rework
	Scrapped bool  // the piece was given up
}

// PassAt is the pass of what goes to a stage at an instant: the first, and one more for
// each time that the stage had been sent back by then.
func PassAt(sentBack []time.Time, at time.Time) int32 {
	pass := int32(1)
	for _, back := range sentBack {
		if !back.After(at) {
			pass++
		}
	}
	return pass
}

// Issue is material that went to a stage, with the lots it came from.
type Issue struct {
	ID       id.ID
	Stage    Stage
	Quantity decimal.Decimal
	Cost     money.Amount
	Draws    []Drawn
	At       time.Time
	Actor    string
	Back     *TakeBack // nil: it counts
}

// TakeBack says that an issue no longer counts: why, since when and who says so.
type TakeBack struct {
	Reason string
	At     time.Time
	Actor  string
}

// Issue takes the amount from the lots and gives it to the stage of the piece that i
// names. The issue is the next fact of that piece; those returned are the product's.
// Faults: PIECE_SCRAPPED, UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD, STOCK_TOO_SMALL.
func (p *Product) Issue(to *Piece, i Issue, amount quantity.Quantity, lots []Lot) (Issue, []Fact, error) {
	if i.Stage.Scrapped {
		return i, nil, fault.New(fault.Precondition, "PIECE_SCRAPPED",
			"The piece was scrapped, so nothing more goes to it; choose a stage of another piece.").At("stage")
	}
	counted, err := Counted("quantity", amount, p.Unit)
	if err == nil && !counted.Value.Equal(p.OnHand) { // the last of it may be a trace
		err = notTooLittle("quantity", counted)
	}
	if err != nil {
		return i, nil, err
	}
	draws, err := Draw(lots, counted)
	if err != nil {
		return i, nil, err
	}
	i = i.WithDraws(draws)
	p.OnHand = p.OnHand.Sub(i.Quantity)
	p.Value -= i.Cost
	to.Version++
	return i, p.tell(), nil
}

// WithDraws gives the issue the draws that it is made of.
func (i Issue) WithDraws(draws []Drawn) Issue {
	i.Draws, i.Quantity, i.Cost = draws, decimal.Zero, 0
	for _, d := range draws {
		i.Quantity, i.Cost = i.Quantity.Add(d.Quantity), i.Cost+d.Cost
	}
	return i
}

// TakeBack puts a whole issue back into the lots it came from, which its draws hold as
// they are now. It is a correction, so it does not matter what has become of the piece,
// whose next fact it is; those returned are the product's. Faults: ISSUE_TAKEN_BACK,
// TAKE_BACK_BEFORE_ISSUE.
func (p *Product) TakeBack(from *Piece, i Issue, why TakeBack) (Issue, []Fact, error) {
	if i.Back != nil {
		return i, nil, fault.New(fault.Precondition, "ISSUE_TAKEN_BACK",
			"This was already taken back: %s.", i.Back.Reason).At("issue")
	}
	// People write times to the minute, and the issue's has its seconds.
	if why.At.Before(i.At.Truncate(time.Minute)) {
		return i, nil, fault.New(fault.Invalid, "TAKE_BACK_BEFORE_ISSUE",
			"The material is taken back before it was issued; check the time.").At("take_back_time")
	}
	draws := make([]Drawn, len(i.Draws))
	for n, d := range i.Draws {
		draws[n] = putBack(d)
	}
	i = i.WithDraws(draws)
	i.Back = &why
	p.OnHand = p.OnHand.Add(i.Quantity)
	p.Value += i.Cost
	from.Version++
	return i, p.tell(), nil
}
