// Package quantity is exact amounts of material: a decimal and a unit. Trade, pure.
//
// Stock is counted in the base unit of its measure (L, g, m, each). Every other unit
// is an exact decimal number of base units, so going to the base loses nothing and is
// the only conversion there is.
package quantity

import (
	"regexp"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
)

// Measure is what a unit measures.
type Measure string

// The measures of the shop.
const (
	Volume Measure = "volume"
	Mass   Measure = "mass"
	Length Measure = "length"
	Count  Measure = "count"
)

// Unit is a unit by its symbol, with its exact size in the measure's base unit.
type Unit struct {
	Symbol  string
	Measure Measure
	size    decimal.Decimal
}

// Sizes: inch 25.4 mm, foot and yard from it, pound 0.45359237 kg (NIST Special
// Publication 811); US gallon 231 in³ = 3.785411784 L and its parts /4, /8, /16, /128
// (NIST Handbook 44, appendix C).
var units = index(
	unit("L", Volume, "1"), unit("mL", Volume, "0.001"),
	unit("gal", Volume, "3.785411784"), unit("qt", Volume, "0.946352946"), unit("pt", Volume, "0.473176473"),
	unit("cup", Volume, "0.2365882365"), unit("floz", Volume, "0.0295735295625"),
	unit("g", Mass, "1"), unit("kg", Mass, "1000"), unit("oz", Mass, "28.349523125"), unit("lb", Mass, "453.59237"),
	unit("m", Length, "1"), unit("cm", Length, "0.01"), unit("mm", Length, "0.001"),
	unit("in", Length, "0.0254"), unit("ft", Length, "0.3048"), unit("yd", Length, "0.9144"),
	unit("each", Count, "1"), unit("sheet", Count, "1"), unit("disc", Count, "1"), unit("roll", Count, "1"), unit("pack", Count, "1"),
)

var bases = map[Measure]string{Volume: "L", Mass: "g", Length: "m", Count: "each"}

func unit(symbol string, m Measure, size string) Unit {
	return Unit{Symbol: symbol, Measure: m, size: decimal.RequireFromString(size)}
}

func index(list ...Unit) map[string]Unit {
	bySymbol := make(map[string]Unit, len(list))
	for _, u := range list {
		bySymbol[u.Symbol] = u
	}
	return bySymbol
}

// UnitOf finds a unit by its symbol; an unknown one is a fault UNIT_UNKNOWN.
func UnitOf(symbol string) (Unit, error) {
	u, ok := units[symbol]
	if !ok {
		return Unit{}, fault.New(fault.Invalid, "UNIT_UNKNOWN",
			"%q is not a unit; use mL, L, floz, cup, pt, qt, gal, g, kg, oz, lb, mm, cm, m, in, ft, yd, each, sheet, disc, roll or pack.", symbol)
	}
	return u, nil
}

// Base gives the unit that the measure is counted in.
func (u Unit) Base() Unit { return units[bases[u.Measure]] }

// Quantity is an exact amount.
type Quantity struct {
	Value decimal.Decimal
	Unit  Unit
}

var form = regexp.MustCompile(`^-?[0-9]{1,9}(\.[0-9]{1,20})?$`)

// Parse reads a value such as "2" or "0.75" (at most nine digits before and twenty
// after the point) and a unit. Faults: QUANTITY_MALFORMED, UNIT_UNKNOWN.
func Parse(value, symbol string) (Quantity, error) {
	u, err := UnitOf(symbol)
	if err != nil {
		return Quantity{}, err
	}
	if !form.MatchString(value) {
		return Quantity{}, fault.New(fault.Invalid, "QUANTITY_MALFORMED",
			"%q is not a plain decimal with at most 9 digits before and 20 after the point.", value)
	}
	return Quantity{Value: decimal.RequireFromString(value), Unit: u}, nil
}

// InBase gives the same amount in the measure's base unit, exactly.
func (q Quantity) InBase() Quantity {
	return Quantity{Value: q.Value.Mul(q.Unit.size), Unit: q.Unit.Base()}
}

// In gives how many of another unit of the same measure it is, to sixteen digits after the point: for
// people to read, not to reckon on with.
func (q Quantity) In(u Unit) decimal.Decimal { return q.InBase().Value.Div(u.size) }

// String writes "0.75 L".
func (q Quantity) String() string { return q.Value.String() + " " + q.Unit.Symbol }

// Positive reports whether there is any of it.
func (q Quantity) Positive() bool { return q.Value.IsPositive() }
