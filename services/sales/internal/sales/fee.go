package sales

import (
	"fmt"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Fees is what a channel keeps of a price: a share and a fixed amount, reckoned exactly and rounded once, then at least the
// minimum and at most the most.
type Fees struct {
	Percent    decimal.Decimal // from 0 to 100: of what lies below the first tier
	Fixed      money.Amount
	Tiers      []Tier // each from a higher price on than the one before
	WholePrice bool   // a tier's percentage is of the whole, not of what lies in the tier alone
	Minimum    money.Amount
	Most       *money.Amount // nil: no end
	WithTax    bool          // the percentages are of the price with its tax
}

// Tier is a percentage, from 0 to 100, from a price on, above zero.
type Tier struct {
	From    money.Amount
	Percent decimal.Decimal
}

var hundred = decimal.New(100, 0)

// Check refuses what no channel keeps. Faults: FEE_PERCENT_OUT_OF_RANGE, TIERS_OUT_OF_ORDER, FEE_MINIMUM_ABOVE_MOST.
func (f Fees) Check() error {
	if err := percentInRange(f.Percent, "fees.percent"); err != nil {
		return err
	}
	below := money.Amount(0)
	for i, t := range f.Tiers {
		field := fmt.Sprintf("fees.tiers[%d]", i)
		if t.From <= below {
			return fault.New(fault.Invalid, "TIERS_OUT_OF_ORDER",
				"Each tier begins at a price above zero and above that of the tier before; put them in order.").At(field + ".from")
		}
		if err := percentInRange(t.Percent, field+".percent"); err != nil {
			return err
		}
		below = t.From
	}
	if f.Most != nil && f.Minimum > *f.Most {
		return fault.New(fault.Invalid, "FEE_MINIMUM_ABOVE_MOST",
			"The least that the channel keeps is above the most; check whether the two were mixed up.").At("fees.minimum")
	}
	return nil
}

func percentInRange(p decimal.Decimal, field string) error {
	if p.IsNegative() || p.GreaterThan(hundred) {
		return fault.New(fault.Invalid, "FEE_PERCENT_OUT_OF_RANGE", "A channel keeps from 0 to 100 percent; %s is not that.", p).At(field)
	}
	return nil
}

// Of is the fee of a sale at a price, without tax, and its tax; a half of the smallest unit is rounded away from zero. It can be
// above the price, which no sale takes.
func (f Fees) Of(price, tax money.Amount) money.Amount {
	base := price
	if f.WithTax {
		base += tax
	}
	share := f.marginal(base)
	if f.WholePrice {
		share = decimal.New(int64(base), 0).Mul(f.reached(base))
	}
	fee := money.Amount(share.Shift(-2).Round(0).IntPart()) + f.Fixed
	fee = max(fee, f.Minimum)
	if f.Most != nil {
		fee = min(fee, *f.Most)
	}
	return fee
}

// reached is the percentage of the highest tier that a price reaches.
func (f Fees) reached(base money.Amount) decimal.Decimal {
	percent := f.Percent
	for _, t := range f.Tiers {
		if base >= t.From {
			percent = t.Percent
		}
	}
	return percent
}

// marginal is a hundred times the share of a price of which each tier takes its percentage of what lies in it.
func (f Fees) marginal(base money.Amount) decimal.Decimal {
	sum, percent, from := decimal.Decimal{}, f.Percent, money.Amount(0)
	for _, t := range f.Tiers {
		sum = sum.Add(decimal.New(int64(max(min(base, t.From)-from, 0)), 0).Mul(percent))
		percent, from = t.Percent, t.From
	}
	return sum.Add(decimal.New(int64(max(base-from, 0)), 0).Mul(percent))
}
