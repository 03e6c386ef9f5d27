package intake

import (
	"github.com/shopspring/decimal"

	"tackfree/pkg/apportion"
	"tackfree/pkg/money"
)

// EstimateTotals are what lines come to: Subtotal − Discount + Tax = Total, exactly.
type EstimateTotals struct {
	Subtotal money.Amount `json:"subtotal"`
	Discount money.Amount `json:"discount"`
	Taxable  money.Amount `json:"taxable"` // the taxed lines less their share of the discount
	Tax      money.Amount `json:"tax"`
	Total    money.Amount `json:"total"`
}

// AmountOrPercent is an amount, or a percent of something; neither: nothing was said.
type AmountOrPercent struct {
	Amount  *money.Amount    `json:"amount,omitempty"`
	Percent *decimal.Decimal `json:"percent,omitempty"`
}

func (p AmountOrPercent) said() bool { return p.Amount != nil || p.Percent != nil }

// of is the amount, or the percent of a sum, rounded once.
func (p AmountOrPercent) of(sum money.Amount) money.Amount {
	switch {
	case p.Amount != nil:
		return *p.Amount
	case p.Percent != nil:
		return percentOf(sum, *p.Percent)
	}
	return 0
}

// pick is which price of a line counts.
type pick func(EstimateLine) money.Amount

func likeliest(l EstimateLine) money.Amount { return l.Price() }
func fewest(l EstimateLine) money.Amount    { low, _ := l.PriceRange(); return low }
func most(l EstimateLine) money.Amount      { _, high := l.PriceRange(); return high }

// totalOf adds filled lines up. The discount is never more than they come to; it is shared by the taxed and the
// untaxed ones by largest remainders. Tax is taken of the taxable sum once.
func totalOf(lines []EstimateLine, price pick, discount AmountOrPercent, tax decimal.Decimal) (t EstimateTotals) {
	var taxed, untaxed money.Amount
	for _, l := range lines {
		if l.Untaxed {
			untaxed += price(l)
		} else {
			taxed += price(l)
		}
	}
	t.Subtotal = taxed + untaxed
	t.Discount = min(discount.of(t.Subtotal), t.Subtotal)
	t.Taxable = taxed - apportion.Split(t.Discount, []int64{int64(taxed), int64(untaxed)})[0]
	t.Tax = percentOf(t.Taxable, tax)
	t.Total = t.Subtotal - t.Discount + t.Tax
	return t
}

// plus adds what several documents come to.
func (t EstimateTotals) plus(o EstimateTotals) EstimateTotals {
	return EstimateTotals{t.Subtotal + o.Subtotal, t.Discount + o.Discount, t.Taxable + o.Taxable, t.Tax + o.Tax, t.Total + o.Total}
}
