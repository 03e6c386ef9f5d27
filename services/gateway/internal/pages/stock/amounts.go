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
