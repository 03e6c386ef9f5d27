package intake

import (
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/apportion"
	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Done is what was done on a commission's piece so far.
type Done struct {
	Minutes, Rework int32        // hands-on; in the first pass, and what had to be done again
	Material        money.Amount // what was issued in the first pass cost, less what came back
}

// Settlement is what is owed of a commission that was cancelled, figure by figure.
type Settlement struct {
	Reason     string          `json:"reason"`
	Rule       CancelRule      `json:"rule"`
	At         time.Time       `json:"at"`
	Actor      string          `json:"actor"`
	Done       Done            `json:"done"`
	Rate       money.Amount    `json:"rate"` // of an hour
	Labour     money.Amount    `json:"labour"`
	Markup     decimal.Decimal `json:"markup"` // percent
	Material   money.Amount    `json:"material"`
	TaxPercent decimal.Decimal `json:"tax_percent"`
	Tax        money.Amount    `json:"tax"`
	Discount   money.Amount    `json:"discount"` // the share of the approved discount
	Worth      money.Amount    `json:"worth"`    // labour and material less the discount, with tax
	Approved   money.Amount    `json:"approved"` // with tax; never more is owed
	OfRest     decimal.Decimal `json:"of_rest"`  // percent
	Rest       money.Amount    `json:"rest"`     // that percent of what is left of the approved sum
	Owed       money.Amount    `json:"owed"`
	OwedTax    money.Amount    `json:"owed_tax"` // of Owed
	Deposit    money.Amount    `json:"deposit"`  // that was paid
}

// ToPay is what the client still owes; zero where something comes back to them.
func (s Settlement) ToPay() money.Amount { return max(0, s.Owed-s.Deposit) }

// ToRefund is what comes back to the client; zero where they still owe something.
func (s Settlement) ToRefund() money.Amount { return max(0, s.Deposit-s.Owed) }

// Cancel ends the commission and works out what is owed, by the rule of the approved estimate; of one that was
// not approved nothing is. Faults: COMMISSION_CANCELLED, COMMISSION_FINISHED, RATE_MISSING.
func (c *Commission) Cancel(d Done, deposit money.Amount, t CommissionTerms, w Writing) error {
	s, err := c.Settle(d, deposit, t, w)
	if err != nil {
		return err
	}
	c.State, c.Settlement = Cancelled, &s
	c.Version++
	return nil
}

// Settle is what would be owed if it were cancelled. Faults: as Cancel.
func (c Commission) Settle(d Done, deposit money.Amount, t CommissionTerms, w Writing) (s Settlement, err error) {
	if err := c.isThere(); err != nil {
		return s, err
	}
	s = Settlement{Reason: w.Reason, Rule: OwesNothing, At: w.At, Actor: w.Actor, Done: d, Deposit: deposit}
	if agreed, is := c.Agreed(); is {
		s.Rule, s.Approved = c.Last().Rule, agreed.Total
		if err := s.worth(c.approvedLines(), agreed, t, *c.Last().Draft.Tax); err != nil {
			return s, err
		}
		s.owe(c.Last().CancelPercent, agreed.Tax)
	}
	return s, nil
}

func (c Commission) approvedLines() []EstimateLine {
	lines := c.Last().Draft.Lines
	for _, o := range c.ChangeOrders {
		if o.State == OrderApproved {
			lines = append(lines[:len(lines):len(lines)], o.Lines...)
		}
	}
	return lines
}

// worth is what was done so far at the approved rates: as much of it is taxed as of the lines of its sort, and it has its
// share of the discount, all of it once it comes to what was approved. Fault: RATE_MISSING.
func (s *Settlement) worth(lines []EstimateLine, agreed EstimateTotals, t CommissionTerms, tax decimal.Decimal) error {
	labour, material := sortOf(lines, LabourLine, t.LabourUntaxed), sortOf(lines, MaterialLine, false)
	if s.Rate = rateOf(lines, t); s.Rate == 0 && s.Done.Minutes > 0 && s.Rule != OwesNothing {
		return fault.New(fault.Precondition, "RATE_MISSING", "%d minutes were worked, and neither the estimate nor the terms say what an hour is; set the rate in the terms, and cancel then.", s.Done.Minutes)
	}
	s.Markup = markupOf(lines, t)
	s.Labour = roundHalfAway(decimal.NewFromInt(int64(s.Rate)).Mul(decimal.NewFromInt32(s.Done.Minutes)).Div(decimal.NewFromInt(60)))
	s.Material = s.Done.Material + percentOf(s.Done.Material, s.Markup)
	work := s.Labour + s.Material
	taxed := labour.taxedOf(s.Labour) + material.taxedOf(s.Material)
	if agreed.Subtotal > 0 {
		s.Discount = roundHalfAway(decimal.NewFromInt(int64(agreed.Discount)).Mul(decimal.NewFromInt(int64(min(work, agreed.Subtotal)))).Div(decimal.NewFromInt(int64(agreed.Subtotal))))
	}
	taxable := taxed - apportion.Split(s.Discount, []int64{int64(taxed), int64(work - taxed)})[0]
	s.TaxPercent, s.Tax = tax, percentOf(taxable, tax)
	s.Worth = work - s.Discount + s.Tax
	return nil
}

// taxedness is how much of the lines of one sort is taxed; both zero: there are none.
type taxedness struct {
	taxed, untaxed money.Amount
	usual          bool // untaxed where there are none
}

func sortOf(lines []EstimateLine, kind LineKind, untaxed bool) taxedness {
	t := taxedness{usual: untaxed}
	for _, l := range lines {
		switch {
		case l.Kind != kind:
		case l.Untaxed:
			t.untaxed += l.Price()
		default:
			t.taxed += l.Price()
		}
	}
	return t
}

// taxedOf is the taxed part of an amount of that sort, by largest remainders.
func (t taxedness) taxedOf(a money.Amount) money.Amount {
	switch {
	case t.taxed+t.untaxed > 0:
		return apportion.Split(a, []int64{int64(t.taxed), int64(t.untaxed)})[0]
	case t.usual:
		return 0
	}
	return a
}

// rateOf is what an hour of the lines asks on average, by their likely hours, rounded once.
func rateOf(lines []EstimateLine, t CommissionTerms) money.Amount {
	price, hours := decimal.Zero, decimal.Zero
	for _, l := range lines {
		if l.Kind == LabourLine {
			price, hours = price.Add(decimal.NewFromInt(int64(l.Price()))), hours.Add(l.Hours.Likely)
		}
	}
	if hours.IsZero() {
		return t.Rate
	}
	return roundHalfAway(price.Div(hours))
}

// markupOf is what the material of the lines has on its cost on average, in percent to four digits.
func markupOf(lines []EstimateLine, t CommissionTerms) decimal.Decimal {
	price, cost := decimal.Zero, decimal.Zero
	for _, l := range lines {
		if l.Kind == MaterialLine {
			at := decimal.NewFromInt(int64(l.Cost))
			price, cost = price.Add(at.Mul(*l.Markup)), cost.Add(at)
		}
	}
	if cost.IsZero() {
		return t.Markup
	}
	return price.DivRound(cost, 4)
}

// owe goes by the rule. What is not more than the approved sum has the tax of the work; what would be more is the
// approved sum, and of what is left of it the same percent of what is left of its tax is tax.
func (s *Settlement) owe(percent decimal.Decimal, approvedTax money.Amount) {
	if s.Rule == OwesNothing {
		return
	}
	s.Owed, s.OwedTax = s.Worth, s.Tax
	if s.Worth > s.Approved {
		s.Owed, s.OwedTax = s.Approved, approvedTax
	}
	if s.Rule == OwesWorkPlus {
		s.OfRest, s.Rest = percent, percentOf(s.Approved-s.Owed, percent)
		s.OwedTax += percentOf(max(0, approvedTax-s.OwedTax), percent)
		s.Owed += s.Rest
	}
}
