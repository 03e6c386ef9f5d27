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

// Issue is material that went to a stage, and what came back of it.
type Issue struct {
	Posted
	Back     *TakeBack // nil: it counts
	Returned Worth     // what came back of it unused
}

// TakeBack says that an issue no longer counts: why, since when and who says so.
type TakeBack struct {
	Reason string
	At     time.Time
	Actor  string
}

// Out is how much of an issue is still out.
func (i Issue) Out() decimal.Decimal {
	if i.Back != nil {
		return decimal.Zero
	}
	return i.Quantity.Sub(i.Returned.Quantity)
}

// Cost is what went out cost, before anything came back.
func (i Issue) Cost() money.Amount { return -i.Total() }

// Issue makes the entry of an amount that goes to a stage. Faults: PIECE_SCRAPPED,
// UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func (p Product) Issue(e Entry, amount quantity.Quantity) (Entry, error) {
	if e.To.Scrapped {
		return e, pieceScrapped
	}
	var err error
	e.Quantity, err = p.goes(amount)
	e.Kind, e.Purpose = WentOut, ForIssue
	return e, err
}

var pieceScrapped = fault.New(fault.Precondition, "PIECE_SCRAPPED",
	"The piece was scrapped, so nothing more goes to it; choose a stage of another piece.").At("stage")

// goes counts an amount that comes or goes. Faults: UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func (p Product) goes(amount quantity.Quantity) (decimal.Decimal, error) {
	counted, err := Counted("quantity", amount, p.Unit)
	if err == nil && !counted.Value.Equal(p.OnHand) { // the last of it may be a trace
		err = notTooLittle("quantity", counted)
	}
	return counted.Value, err
}

// Return makes the entry of a part of an issue that comes back unused. Faults:
// ISSUE_TAKEN_BACK, RETURN_BEFORE_ISSUE, RETURN_TOO_LARGE, UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func (p Product) Return(i Issue, e Entry, amount quantity.Quantity) (Entry, error) {
	e, err := i.backs(e, "RETURN_BEFORE_ISSUE", "return_time")
	if err != nil {
		return e, err
	}
	counted, err := Counted("quantity", amount, p.Unit)
	if err == nil {
		err = notTooLittle("quantity", counted)
	}
	if err == nil && counted.Value.GreaterThan(i.Out()) {
		out := quantity.Quantity{Value: i.Out(), Unit: p.Unit}
		err = fault.New(fault.Precondition, "RETURN_TOO_LARGE", "%s is more than %s of it that is still out; check the amount, or what came back before.",
			shown(counted), out).At("quantity").With("out", out.String())
	}
	e.Purpose, e.Quantity = ForReturn, counted.Value
	return e, err
}

// TakeBack makes the entry by which all of an issue that is still out comes back, as if it had not
// been. It is a correction, so it does not matter what has become of the piece. Faults:
// ISSUE_TAKEN_BACK, TAKE_BACK_BEFORE_ISSUE.
func (i Issue) TakeBack(e Entry) (Entry, error) {
	e, err := i.backs(e, "TAKE_BACK_BEFORE_ISSUE", "take_back_time")
	e.Kind, e.Purpose, e.Quantity, e.At, e.UndoneAt = Undone, ForTakeBack, i.Out(), i.At, e.At
	return e, err
}

func (i Issue) backs(e Entry, before, field string) (Entry, error) {
	if i.Back != nil {
		return e, fault.New(fault.Precondition, "ISSUE_TAKEN_BACK",
			"This was already taken back: %s.", i.Back.Reason).At("issue")
	}
	// People write times to the minute, and the issue's has its seconds.
	if e.At.Before(i.At.Truncate(time.Minute)) {
		return e, fault.New(fault.Invalid, before,
			"The material comes back before it was issued; check the time.").At(field)
	}
	if e.At.Before(i.At) {
		e.At = i.At
	}
	e.Kind, e.Of, e.To = CameBack, i.ID, i.To
	return e, nil
}
