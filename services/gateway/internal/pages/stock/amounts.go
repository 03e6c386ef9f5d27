package stock

import (
	"github.com/shopspring/decimal"

	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// exact gives an amount in the base unit of its measure; none, or one that cannot be read, is zero.
func exact(q *typev1.Quantity) decimal.Decimal {
	if q == nil {
		return decimal.Zero
	}
	it, err := quantity.Parse(q.Value, q.Unit)
	if err != nil {
		return decimal.Zero
	}
	return it.InBase().Value
}

// less gives the one amount less the other, in the unit of the first.
func less(a, b *typev1.Quantity) *typev1.Quantity {
	if a == nil {
		return nil
	}
	return wire.ToQuantity(exact(a).Sub(exact(b)), baseOf(a.Unit))
}

func baseOf(symbol string) string {
	u, err := quantity.UnitOf(symbol)
	if err != nil {
		return symbol
	}
	return u.Base().Symbol
}

// none reports whether there is nothing of it.
func none(q *typev1.Quantity) bool { return exact(q).IsZero() }

// symbols are the units of a measure in the order in which a form offers them.
var symbols = []string{"mL", "L", "floz", "cup", "pt", "qt", "gal", "g", "kg", "oz", "lb", "mm", "cm", "m", "in", "ft", "yd", "each", "sheet", "disc", "roll", "pack"}

// unitsLike are the units in which somebody may type an amount that is counted in one of them, that one first.
func unitsLike(symbol string) []string {
	out := []string{symbol}
	own, err := quantity.UnitOf(symbol)
	if err != nil {
		return out
	}
	for _, s := range symbols {
		if u, err := quantity.UnitOf(s); err == nil && u.Measure == own.Measure && s != symbol {
			out = append(out, s)
		}
	}
	return out
}
