package advice

import (
	"math"

	"tackfree/pkg/money"
)

// wholeFrom is from how many units of the currency on a price is whole units. Common practice.
const wholeFrom = 20

// price is a price as a shop asks it: whole units of the currency from 20 of them on, and below that
// to the smallest unit; at least one of it. The forecast is in minor units; a half goes up.
func (s Shop) price(minor float64) money.Amount {
	unit := math.Pow10(s.Currency.Digits)
	if minor >= wholeFrom*unit {
		return amount(math.Round(minor/unit) * unit)
	}
	return max(1, amount(minor))
}

// amount is a forecast to the smallest unit, a half away from zero, within what the suite takes in.
func amount(minor float64) money.Amount {
	return money.Amount(math.Round(min(max(minor, -float64(money.Max)), float64(money.Max))))
}
