package intake

import (
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// EstimateDraft is an estimate as somebody writes it. What is nil, and days that are zero, are as the terms say.
type EstimateDraft struct {
	Lines      []EstimateLine   `json:"lines"`
	Discount   AmountOrPercent  `json:"discount"` // of the subtotal
	Tax        *decimal.Decimal `json:"tax,omitempty"`
	Deposit    AmountOrPercent  `json:"deposit"` // of the total
	ValidUntil time.Time        `json:"valid_until"`
	Promised   time.Time        `json:"promised"` // zero: no day
	Notes      string           `json:"notes"`
}

// Estimate is one version; none is changed but by what the client says to it.
type Estimate struct {
	Number        int32           `json:"version"`
	Draft         EstimateDraft   `json:"draft"` // all filled in
	Totals        EstimateTotals  `json:"totals"`
	Low           EstimateTotals  `json:"low"`  // with the fewest hours
	High          EstimateTotals  `json:"high"` // with the most
	Deposit       money.Amount    `json:"deposit"`
	Exemption     *Exemption      `json:"exemption,omitempty"`
	Rule          CancelRule      `json:"rule"`
	CancelPercent decimal.Decimal `json:"cancel_percent"`
	DraftedAt     time.Time       `json:"drafted_at"`
	Actor         string          `json:"actor"`
	Reason        string          `json:"reason"`
	Answer        *ClientAnswer   `json:"-"`
}

// ClientAnswer is what a client said, and to whom.
type ClientAnswer struct {
	By     string    `json:"by"`
	How    AnswerHow `json:"how"`
	At     time.Time `json:"at"`
	Reason string    `json:"reason"` // of a decline
	Actor  string    `json:"actor"`  // who wrote it down
}

// AnswerHow is how a client said it.
type AnswerHow string

// The ways.
const (
	InPerson  AnswerHow = "in_person"
	ByPhone   AnswerHow = "by_phone"
	InWriting AnswerHow = "in_writing"
)

// Writing is who writes something down, when, and on which day of the shop that is.
type Writing struct {
	At     time.Time
	Day    time.Time
	Actor  string
	Reason string
}

// write makes an estimate of a draft, by the terms. A client who is exempt pays no tax, whatever the draft says.
// Faults: RATE_MISSING, HOURS_UPSIDE_DOWN, HOURS_OUTSIDE, SUM_TOO_LARGE, DISCOUNT_ABOVE_SUBTOTAL,
// DEPOSIT_ABOVE_TOTAL, VALID_BEFORE_NOW, PROMISED_BEFORE_NOW.
func (d EstimateDraft) write(t CommissionTerms, exempt *Exemption, w Writing) (e Estimate, err error) {
	if d.Lines, err = fillLines(d.Lines, t, "draft.lines"); err != nil {
		return e, err
	}
	d.fill(t, exempt, w.Day)
	if err := d.days(w.Day); err != nil {
		return e, err
	}
	e = Estimate{Draft: d, Exemption: exempt, Rule: t.Rule, CancelPercent: t.CancelPercent, DraftedAt: w.At, Actor: w.Actor, Reason: w.Reason}
	e.Totals, e.Low, e.High = totalOf(d.Lines, likeliest, d.Discount, *d.Tax), totalOf(d.Lines, fewest, d.Discount, *d.Tax), totalOf(d.Lines, most, d.Discount, *d.Tax)
	e.Deposit = d.Deposit.of(e.Totals.Total)
	return e, e.check()
}

// fill puts in what the draft does not say.
func (d *EstimateDraft) fill(t CommissionTerms, exempt *Exemption, day time.Time) {
	if d.Tax == nil {
		d.Tax = &t.Tax
	}
	if exempt != nil {
		d.Tax = &decimal.Zero
	}
	if !d.Deposit.said() {
		d.Deposit.Percent = &t.Deposit
	}
	if d.ValidUntil.IsZero() {
		d.ValidUntil = day.AddDate(0, 0, int(t.ValidDays))
	}
}

func (d EstimateDraft) days(today time.Time) error {
	if d.ValidUntil.Before(today) {
		return fault.New(fault.Invalid, "VALID_BEFORE_NOW", "The estimate is of %s and cannot hold until %s, which is earlier; name a later day.",
			today.Format(time.DateOnly), d.ValidUntil.Format(time.DateOnly)).At("draft.valid_until")
	}
	return promisedLater(d.Promised, today, "draft.promised")
}

func promisedLater(promised, today time.Time, field string) error {
	if !promised.IsZero() && promised.Before(today) {
		return fault.New(fault.Invalid, "PROMISED_BEFORE_NOW", "It is %s, and it cannot be done by %s, which is earlier; name a later day.",
			today.Format(time.DateOnly), promised.Format(time.DateOnly)).At(field)
	}
	return nil
}

func (e Estimate) check() error {
	switch said := e.Draft.Discount.Amount; {
	case e.High.Total > money.Max:
		return tooLarge("draft.lines")
	case said != nil && *said > e.Totals.Subtotal:
		return fault.New(fault.Invalid, "DISCOUNT_ABOVE_SUBTOTAL", "The discount is more than all lines together come to; check both.").At("draft.discount")
	case e.Deposit > e.Totals.Total:
		return fault.New(fault.Invalid, "DEPOSIT_ABOVE_TOTAL", "The deposit is more than the whole estimate comes to; check both.").At("draft.deposit")
	}
	return nil
}
