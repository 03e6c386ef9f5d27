package sales

import (
	"github.com/shopspring/decimal"

	"tackfree/pkg/money"
)

// TaxRow is what was sold and taxed at a place and rate in a period, and what went back in it.
type TaxRow struct {
	Place     string          // empty: the tax was said as an amount, or nobody said any
	Percent   decimal.Decimal // of a place
	Gross     money.Amount    // prices without tax
	Exempt    money.Amount    // of these, to exempt buyers
	Taxable   money.Amount    // of these, what the tax is on
	Tax       money.Amount
	PriceBack money.Amount
	TaxBack   money.Amount
}

// Net is what is to be remitted; below zero when more went back than was collected.
func (r TaxRow) Net() money.Amount { return r.Tax - r.TaxBack }

// TaxTotal adds rows up.
func TaxTotal(rows []TaxRow) (sum TaxRow) {
	for _, r := range rows {
		sum.Gross += r.Gross
		sum.Exempt += r.Exempt
		sum.Taxable += r.Taxable
		sum.Tax += r.Tax
		sum.PriceBack += r.PriceBack
		sum.TaxBack += r.TaxBack
	}
	return sum
}
