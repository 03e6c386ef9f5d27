package materials

import (
	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/quantity"
)

// places is how many decimals a sentence for a person shows; data keeps them all.
const places = 6

var (
	// most is the largest amount, in base units, that is taken in one go: a thousand cubic
	// metres or a tonne is a slip of the decimal point, not a delivery.
	most = decimal.New(1_000_000, 0)
	// least is the smallest amount, in base units, that comes or goes: nobody measures a
	// part of a microlitre, and a sentence could not show it.
	least = decimal.New(1, -places)
)

// Counted gives an amount in the unit that a product is counted in. Faults at the field:
// UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func Counted(field string, q quantity.Quantity, unit quantity.Unit) (quantity.Quantity, error) {
	if q.Unit.Measure != unit.Measure {
		return q, fault.New(fault.Invalid, "UNIT_OF_ANOTHER_MEASURE",
			"%s is in %s, but this product is counted in %s; use a unit of %s.", fault.The(field), q.Unit.Symbol, unit.Symbol, unit.Measure).
			At(field).With("unit", unit.Symbol)
	}
	base := q.InBase()
	if base.Value.GreaterThan(most) {
		return q, fault.New(fault.Invalid, "QUANTITY_ABSURD",
			"%s is %s, more than %s %s in one go; check the number and its unit.", fault.The(field), shown(base), most, unit.Symbol).At(field)
	}
	return base, nil
}

// notTooLittle refuses a counted amount that is too small to come or go. Fault at the
// field: QUANTITY_ABSURD.
func notTooLittle(field string, q quantity.Quantity) error {
	if q.Value.LessThan(least) {
		return fault.New(fault.Invalid, "QUANTITY_ABSURD",
			"%s is less than %s %s, which nobody measures; check the number and its unit.", fault.The(field), least, q.Unit.Symbol).At(field)
	}
	return nil
}

// shown writes an amount that somebody asks for. It is rounded up, and what is left is
// rounded down, so that a sentence which calls the one more than the other shows numbers
// that say the same.
func shown(q quantity.Quantity) string {
	q.Value = q.Value.RoundCeil(places)
	return q.String()
}

// stockTooSmall says that there is not so much, and what else there is to say of it.
func stockTooSmall(left, amount quantity.Quantity, more string) error {
	return fault.New(fault.Precondition, "STOCK_TOO_SMALL",
		"%s is more than %s; take less, or receive what came in first.%s", shown(amount), whatIsLeft(left), more).
		At("quantity").With("left", left.String())
}

// shownLeft writes an amount that is there, rounded down.
func shownLeft(q quantity.Quantity) string {
	q.Value = q.Value.RoundFloor(places)
	return q.String()
}

func whatIsLeft(q quantity.Quantity) string {
	if q.Positive() && q.Value.LessThan(least) {
		return "what is left, which is less than " + least.String() + " " + q.Unit.Symbol
	}
	q.Value = q.Value.RoundFloor(places)
	return "the " + q.String() + " that is left"
}
