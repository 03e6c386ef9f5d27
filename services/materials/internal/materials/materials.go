// Package materials is what the shop buys to work with and where it goes: the rules,
// without clock, database or wire.
//
//	deliveries, mixes ─▶ Entry ─┐                        ┌─▶ lots: what is left, since when, where
//	issues, returns ───▶ Entry ─┼─▶ Book, in the order ──┼─▶ on hand and its value
//	waste, counts ─────▶ Entry ─┤   of their times       ├─▶ what each issue drew and cost
//	opening, moving ───▶ Entry ─┘                        └─▶ Recost: of what was noted before
//
//	plans ─▶ Need ─────────┐
//	use beside plans ──────┼─▶ advice ─▶ Alert, raised once and closed by itself
//	Supplier, Offer, Order ┘         └─▶ proposed orders ─▶ Order ─▶ delivery
//
// An entry says what happened, and never what it cost: that follows from all entries in the order
// of their times, so it is the same in whichever order they are written down (Book, Shelf). What a
// count says is how much there was; what is missing follows too. A mix is a lot that costs what
// went into it, and follows that.
//
// A product is counted in the base unit of its measure, and every amount of it is turned
// into that unit as it comes in, exactly. What it is worth is what its lots cost, as far
// as they are still there.
//
// That material went to a piece, or was taken back from it, is a fact of the piece and
// not of the product: others book it for the piece, take the facts about one thing in
// their order, and let the later ones wait for one that they cannot book. The whole shop
// takes from one can, so if these were facts of the can, one piece's trouble would keep
// material from the books of all pieces.
//
// An order goes from state to state so, and what is a dash is refused; one that has all come can
// still get more, for suppliers do send too much:
//
//	                Receive                     Close   Cancel
//	ordered         part received or received   closed  cancelled
//	part received   part received or received   closed  -
//	received        received                    -       -
//	closed          -                           -       -
//	cancelled       -                           -       -
package materials

import (
	"github.com/shopspring/decimal"

	"tackfree/pkg/datasheet"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
)

// Product is one thing that the shop keeps in stock. Its amounts are in its Unit.
type Product struct {
	ID        id.ID
	Name      string
	Unit      quantity.Unit // the base unit of its measure
	Packages  []Package
	Threshold decimal.Decimal // below it, the product is low; zero: never
	OnHand    decimal.Decimal
	Value     money.Amount     // of what is on hand, at the cost of its lots
	Low       bool             // less is on hand than Threshold, also counting what is closed or too old; alerts do not
	Newest    Mark             // of its entries
	Last      Worth            // of what came in last
	Sheet     *datasheet.Sheet // nil: it is no coating, or nobody entered what its sheet says
	Details                    // nobody has to say anything
	Version   int64            // counts its facts, so not what went to pieces
}

// Fact is something that became true of a product. Each makes the product's next
// version: the last of the facts that a change gives made the Version it left behind.
type Fact interface{ fact() }

// The facts of a product.
type (
	// Added says that the shop keeps the product from now on.
	Added struct{}
	// ThresholdSet says that the mark below which it is low was set, or taken away.
	ThresholdSet struct{}
	// Received says that a lot came in.
	Received struct {
		Lot   Lot
		Order id.ID // that it fulfils; id.Nil: none
	}
	// Noted says that something was noted that is no fact of a piece.
	Noted struct{ Posted }
	// CostCorrected says that a lot had cost something else.
	CostCorrected struct {
		Lot      id.ID
		Old, New money.Amount
		Reason   string
	}
	// Recounted says that what was noted before and is of no piece costs something else.
	Recounted struct{ Lines []Recost }
	// SheetSet says that what its data sheet says was entered, or taken away.
	SheetSet struct{}
	// FellLow says that there is now less than the threshold, and was not before.
	FellLow struct{}
)

func (Added) fact()         {}
func (ThresholdSet) fact()  {}
func (Received) fact()      {}
func (Noted) fact()         {}
func (CostCorrected) fact() {}
func (Recounted) fact()     {}
func (SheetSet) fact()      {}
func (FellLow) fact()       {}

// SetThreshold sets the mark below which the product is low; the zero quantity takes it
// away. Faults: UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func (p *Product) SetThreshold(mark quantity.Quantity) ([]Fact, error) {
	if mark.Positive() {
		counted, err := Counted("restock_threshold", mark, p.Unit)
		if err != nil {
			return nil, err
		}
		mark = counted
	}
	p.Threshold = mark.Value
	return p.Tell(ThresholdSet{}), nil
}

// Tell brings Low in line with what is on hand and counts the facts as versions. A
// product that was low already does not fall again.
func (p *Product) Tell(facts ...Fact) []Fact {
	low := p.OnHand.LessThan(p.Threshold)
	if low && !p.Low {
		facts = append(facts, FellLow{})
	}
	p.Low = low
	p.Version += int64(len(facts))
	return facts
}
