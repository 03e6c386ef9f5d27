package intake

import (
	"time"

	"github.com/shopspring/decimal"

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
	Worth      money.Amount    `json:"worth"`    // labour and material with tax
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
// not approved nothing is. Fault: COMMISSION_CANCELLED.
func (c *Commission) Cancel(d Done, deposit money.Amount, t CommissionTerms, w Writing) error {
	if err := c.isThere(); err != nil {
		return err
	}
	s := Settlement{Reason: w.Reason, Rule: OwesNothing, At: w.At, Actor: w.Actor, Done: d, Deposit: deposit}
	if agreed, is := c.Agreed(); is {
		s.Rule, s.Approved = c.Last().Rule, agreed.Total
		s.worth(c.approvedLines(), t, *c.Last().Draft.Tax)
		s.owe(c.Last().CancelPercent, agreed.Tax)
	}
	c.State, c.Settlement = Cancelled, &s
	c.Version++
	return nil
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

// worth is what was done so far at the approved rates. Labour is taxed unless no line of labour was, and material alike.
func (s *Settlement) worth(lines []EstimateLine, t CommissionTerms, tax decimal.Decimal) {
	var labourTaxed, materialTaxed bool
	s.Rate, labourTaxed = rateOf(lines, t)
	s.Markup, materialTaxed = markupOf(lines, t)
	s.Labour = roundHalfAway(decimal.NewFromInt(int64(s.Rate)).Mul(decimal.NewFromInt32(s.Done.Minutes)).Div(decimal.NewFromInt(60)))
	s.Material = s.Done.Material + percentOf(s.Done.Material, s.Markup)
	var taxable money.Amount
	if labourTaxed {
		taxable += s.Labour
	}
	if materialTaxed {
		taxable += s.Material
	}
	s.TaxPercent, s.Tax = tax, percentOf(taxable, tax)
	s.Worth = s.Labour + s.Material + s.Tax
}

// rateOf is what an hour of the lines asks on average, by their likely hours, rounded once.
func rateOf(lines []EstimateLine, t CommissionTerms) (rate money.Amount, taxed bool) {
	price, hours := decimal.Zero, decimal.Zero
	for _, l := range lines {
		if l.Kind == LabourLine {
			price, hours = price.Add(decimal.NewFromInt(int64(l.Price()))), hours.Add(l.Hours.Likely)
			taxed = taxed || !l.Untaxed
		}
	}
	if hours.IsZero() {
		return t.Rate, !t.LabourUntaxed
	}
	return roundHalfAway(price.Div(hours)), taxed
}

// markupOf is what the material of the lines has on its cost on average, in percent to four digits.
func markupOf(lines []EstimateLine, t CommissionTerms) (markup decimal.Decimal, taxed bool) {
	price, cost := decimal.Zero, decimal.Zero
	for _, l := range lines {
		if l.Kind == MaterialLine {
			at := decimal.NewFromInt(int64(l.Cost))
			price, cost = price.Add(at.Mul(*l.Markup)), cost.Add(at)
			taxed = taxed || !l.Untaxed
		}
	}
	if cost.IsZero() {
		return t.Markup, true
	}
	return price.DivRound(cost, 4), taxed
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
