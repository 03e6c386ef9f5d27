package intake

import (
	"fmt"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// LineKind is what a line of an estimate asks for.
type LineKind string

// The kinds.
const (
	LabourLine   LineKind = "labour"
	MaterialLine LineKind = "material"
	FixedLine    LineKind = "fixed"
)

// EstimateLine is what a client is asked for one thing. Of the figures those of its kind have meaning.
type EstimateLine struct {
	Kind    LineKind         `json:"kind"`
	What    string           `json:"what"`
	Hours   Hours            `json:"hours"`
	Rate    *money.Amount    `json:"rate,omitempty"` // of an hour; nil: as the terms say
	Cost    money.Amount     `json:"cost"`
	Markup  *decimal.Decimal `json:"markup,omitempty"` // percent on the cost; nil: as the terms say
	Fixed   money.Amount     `json:"fixed"`
	Untaxed bool             `json:"untaxed"`
}

// Hours are those of a line of labour, exact.
type Hours struct {
	Low    decimal.Decimal `json:"low"`
	Likely decimal.Decimal `json:"likely"`
	High   decimal.Decimal `json:"high"`
}

// check refuses hours that contradict each other. Faults: HOURS_UPSIDE_DOWN, HOURS_OUTSIDE.
func (h Hours) check(field string) error {
	switch {
	case h.Low.GreaterThan(h.Likely) || h.Likely.GreaterThan(h.High):
		return fault.New(fault.Invalid, "HOURS_UPSIDE_DOWN", "It cannot take at least %s, likely %s and at most %s hours; the least must not be above the likely ones, nor these above the most.",
			h.Low, h.Likely, h.High).At(field + ".labour.hours_likely")
	case !h.Likely.IsPositive():
		return fault.New(fault.Invalid, "HOURS_OUTSIDE", "Say how many hours the line likely takes; it must be more than none.").At(field + ".labour.hours_likely")
	}
	return nil
}

// filled is the line with what the terms say where it says nothing. Fault: RATE_MISSING.
func (l EstimateLine) filled(t CommissionTerms, field string) (EstimateLine, error) {
	switch {
	case l.Kind == LabourLine && l.Rate == nil:
		if err := t.hasRate(); err != nil {
			return l, fault.Of(err).At(field + ".labour.rate")
		}
		l.Rate = &t.Rate
	case l.Kind == MaterialLine && l.Markup == nil:
		l.Markup = &t.Markup
	}
	return l, nil
}

// Price is what a filled line asks, rounded once to the smallest unit, a half away from zero.
func (l EstimateLine) Price() money.Amount { return l.at(l.Hours.Likely) }

// PriceRange is what it asks with the fewest and with the most hours.
func (l EstimateLine) PriceRange() (low, high money.Amount) {
	return l.at(l.Hours.Low), l.at(l.Hours.High)
}

func (l EstimateLine) at(hours decimal.Decimal) money.Amount {
	switch l.Kind {
	case LabourLine:
		return roundHalfAway(decimal.NewFromInt(int64(*l.Rate)).Mul(hours))
	case MaterialLine:
		return l.Cost + percentOf(l.Cost, *l.Markup)
	}
	return l.Fixed
}

// fillLines checks lines and fills in what they do not say; field is where they stand in the request.
// Faults: RATE_MISSING, HOURS_UPSIDE_DOWN, HOURS_OUTSIDE, SUM_TOO_LARGE.
func fillLines(lines []EstimateLine, t CommissionTerms, field string) ([]EstimateLine, error) {
	out := make([]EstimateLine, len(lines))
	for i, l := range lines {
		at := fmt.Sprintf("%s[%d]", field, i)
		if l.Kind == LabourLine {
			if err := l.Hours.check(at); err != nil {
				return nil, err
			}
		}
		filled, err := l.filled(t, at)
		if err != nil {
			return nil, err
		}
		if _, high := filled.PriceRange(); high > money.Max {
			return nil, tooLarge(at)
		}
		out[i] = filled
	}
	return out, nil
}

func tooLarge(field string) error {
	return fault.New(fault.Invalid, "SUM_TOO_LARGE", "That comes to more than any shop's books hold; check the hours, the rate and the prices.").At(field)
}
