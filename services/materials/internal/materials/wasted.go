package materials

import (
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
)

// Cause is why something was thrown away or lost.
type Cause string

// The causes of waste.
const (
	GunCleaning Cause = "gun cleaning"
	Hose        Cause = "hose"      // what stayed in the hose or the tool
	LeftOver    Cause = "left over" // more was mixed than was used
	TooOld      Cause = "expired"
	Spoilt      Cause = "spoilt" // skinned over, frozen, rusted …
	Spilt       Cause = "spilt"
)

// ofStage says whether a cause belongs to the work at a stage, so that its piece bears the cost;
// the others are the shop's. Common practice.
func (c Cause) ofStage() bool { return c == GunCleaning || c == Hose || c == LeftOver }

// Waste makes the entry of what was thrown away or lost. Faults: WASTE_OF_NO_STAGE, PIECE_SCRAPPED,
// UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func (p Product) Waste(e Entry, amount quantity.Quantity) (Entry, error) {
	if e.To.Piece != id.Nil && !e.Cause.ofStage() {
		return e, fault.New(fault.Invalid, "WASTE_OF_NO_STAGE",
			"What was lost for this cause (%s) is the shop's and no piece's; leave the stage out.", e.Cause).At("stage")
	}
	if e.To.Scrapped {
		return e, pieceScrapped
	}
	var err error
	e.Quantity, err = p.goes(amount)
	e.Kind, e.Purpose, e.Takes = WentOut, ForWaste, Anything
	return e, err
}

// CountStock makes the entry of what somebody found, which may be nothing. Faults:
// UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func (p Product) CountStock(e Entry, amount quantity.Quantity) (Entry, error) {
	counted, err := Counted("quantity", amount, p.Unit)
	e.Kind, e.Purpose, e.Quantity = Tallied, ForCount, counted.Value
	return e, err
}

// Open makes the entry by which a part of a lot is opened; no amount: all of it. Faults: LOT_CLOSED,
// LOT_OPEN, and as Part.
func (p Product) Open(l Lot, e Entry, amount *Packed) (Entry, error) {
	switch {
	case l.Closed:
		return e, lotClosed
	case l.Opened:
		return e, fault.New(fault.Precondition, "LOT_OPEN", "That is open already; take from it.").At("lot")
	}
	e.Purpose, e.Opened, e.Expires = ForOpening, true, p.Opens(l, e.At)
	return p.part(l, e, amount)
}

// Move makes the entry by which a lot, or a part of it, stands elsewhere. Faults:
// MOVE_CHANGES_NOTHING, and as Part.
func (p Product) Move(l Lot, e Entry, amount *Packed) (Entry, error) {
	if l.Place == e.Place {
		return e, fault.New(fault.Invalid, "MOVE_CHANGES_NOTHING", "It stands there already; name another place.").At("place")
	}
	e.Purpose = ForMove
	e, err := p.part(l, e, amount)
	if err == nil && (amount == nil || e.Quantity.Equal(l.Left)) {
		e.Kind, e.Into = Moved, id.Nil
	}
	return e, err
}

// part makes the entry by which a part of a lot becomes a lot of its own. Faults: STOCK_TOO_SMALL,
// PACKAGE_UNKNOWN, UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func (p Product) part(l Lot, e Entry, amount *Packed) (Entry, error) {
	left := l.Left
	if e.Mark().compare(p.Newest) < 0 {
		left = l.Quantity // there may have been more then: the book knows how much
	}
	e.Kind, e.Lot, e.Into, e.Quantity = Split, l.ID, e.ID, left
	if amount != nil {
		var err error
		if e.Quantity, err = p.amountOf("", *amount); err != nil {
			return e, err
		}
	}
	if e.Quantity.GreaterThan(left) || !left.IsPositive() {
		return e, stockTooSmall(quantity.Quantity{Value: left, Unit: p.Unit}, quantity.Quantity{Value: e.Quantity, Unit: p.Unit}, "")
	}
	return e, nil
}

var lotClosed = fault.New(fault.Precondition, "LOT_CLOSED", "That lot was closed, so nothing of it is used any more; take from another.").At("lot")

// Close makes the entry after which nothing of a lot is used. Fault: LOT_CLOSED.
func (l Lot) Close(e Entry) (Entry, error) {
	if l.Closed {
		return e, lotClosed
	}
	e.Kind, e.Purpose, e.Lot = Closed, ForClosing, l.ID
	return e, nil
}
