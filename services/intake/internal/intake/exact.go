package intake

import (
	"regexp"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Percents and hours are exact decimals.

// plain is a number as people write it; the digits are bounded, for what is multiplied is.
var plain = regexp.MustCompile(`^-?\d{1,9}(\.\d{1,4})?$`)

// The most that is taken in: percents of a whole, what is put on a cost, and hours of one line.
const (
	Whole      = 100
	MostMarkup = 1000
	mostHours  = 100_000
)

// ParsePercent reads a percent from 0 to most; "" is nil. Faults: DECIMAL_MALFORMED, PERCENT_OUTSIDE.
func ParsePercent(field, text string, most int64) (*decimal.Decimal, error) {
	if text == "" {
		return nil, nil
	}
	d, err := parseExact(field, text)
	if err != nil {
		return nil, err
	}
	if d.IsNegative() || d.GreaterThan(decimal.NewFromInt(most)) {
		return nil, fault.New(fault.Invalid, "PERCENT_OUTSIDE", "%s must be from 0 to %d, not %s.", fault.The(field), most, text).At(field)
	}
	return &d, nil
}

// ParseHours reads the hours of a line, 0 to 100,000; "" stands for unsaid. Faults: DECIMAL_MALFORMED,
// HOURS_OUTSIDE.
func ParseHours(field, text string, unsaid decimal.Decimal) (decimal.Decimal, error) {
	if text == "" {
		return unsaid, nil
	}
	d, err := parseExact(field, text)
	if err != nil {
		return d, err
	}
	if d.IsNegative() || d.GreaterThan(decimal.NewFromInt(mostHours)) {
		return d, fault.New(fault.Invalid, "HOURS_OUTSIDE", "%s must be from 0 to %d, not %s.", fault.The(field), mostHours, text).At(field)
	}
	return d, nil
}

func parseExact(field, text string) (decimal.Decimal, error) {
	if !plain.MatchString(text) {
		return decimal.Zero, fault.New(fault.Invalid, "DECIMAL_MALFORMED",
			"%s is %q, which is no plain number with at most four digits after the point, such as 8.875.", fault.The(field), text).At(field)
	}
	return decimal.NewFromString(text)
}

// roundHalfAway gives the nearest whole unit, a half going away from zero: how people round a bill. It is the
// one rounding of estimates.
func roundHalfAway(d decimal.Decimal) money.Amount { return money.Amount(d.Round(0).IntPart()) }

// percentOf is so many percent of an amount, rounded once.
func percentOf(a money.Amount, percent decimal.Decimal) money.Amount {
	return roundHalfAway(decimal.NewFromInt(int64(a)).Mul(percent).Shift(-2))
}
