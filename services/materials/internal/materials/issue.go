package materials

import (
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
)

// Stage is where material goes: a stage of a piece in one of its passes.
type Stage struct {
	ID       id.ID
	Piece    id.ID
	Kind     string
	Pass     int32 // above 1: the stage is done again, so what it takes is rework
	Scrapped bool  // the piece was given up
}

// Issue is material that went to a stage, with the lots it came from.
type Issue struct {
	ID       id.ID
	Stage    Stage
	Quantity decimal.Decimal
	Cost     money.Amount
	Draws    []Drawn
	At       time.Time
}

// Issue takes the amount from the lots and gives it to the stage that i names. Faults:
// PIECE_SCRAPPED, UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD, STOCK_TOO_SMALL.
func (p *Product) Issue(i Issue, amount quantity.Quantity, lots []Lot) (Issue, []Fact, error) {
	if i.Stage.Scrapped {
		return i, nil, fault.New(fault.Precondition, "PIECE_SCRAPPED",
			"The piece was scrapped, so nothing more goes to it; choose a stage of another piece.").At("stage")
	}
	counted, err := Counted("quantity", amount, p.Unit)
	if err != nil {
		return i, nil, err
	}
	if i.Draws, err = Draw(lots, counted); err != nil {
		return i, nil, err
	}
	i.Quantity, i.Cost = counted.Value, costOf(i.Draws)
	p.OnHand = p.OnHand.Sub(i.Quantity)
	p.Value -= i.Cost
	return i, p.tell(Issued{i}), nil
}
