package commissioned

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/pkg/printed"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// Invoice is what the client is asked for: the approved estimate and the approved change orders, or what is owed of a
// commission that was cancelled, less what was paid. Faults: INVOICE_NOTHING_AGREED, LETTERHEAD_MISSING, LANGUAGE_UNKNOWN,
// PAPER_UNKNOWN.
func Invoice(o Order) (d printed.Document, err error) {
	if err := o.check(); err != nil {
		return d, err
	}
	c := o.Commission
	if c.Invoice == nil {
		return d, fault.New(fault.Precondition, "INVOICE_NOTHING_AGREED", "The client has not approved the estimate of commission %d, so there is nothing to invoice.", c.Number)
	}
	at := o.invoiceTime()
	if d, err = o.letter(o.t("invoice.title", c.Number), at); err != nil {
		return d, err
	}
	d.Facts = append([]printed.Fact{{Name: o.t("number"), Text: o.t("invoice.number", c.Number)}, {Name: o.t("date"), Text: o.dayOf(at)}}, o.piece()...)
	if o.Sale != nil {
		d.Facts = append(d.Facts, printed.Fact{Name: o.t("invoice.sale"), Text: saleNumber(o.Sale)})
	}
	d.Before = filled(c.Description)
	d.Table = o.table()
	if c.Settlement != nil {
		o.settled(&d)
	} else {
		o.asAgreed(&d)
	}
	d.Sums = append(d.Sums, o.toPay()...)
	if x := o.agreed().GetTaxExemption(); x != nil {
		d.After = append(d.After, o.t("exempt", joined(x.Reason, x.Number)))
	}
	d.After = append(d.After, filled(o.Letterhead.Closing)...)
	d.Cautions = printed.Cautions{Title: o.t("cautions"), Lines: []string{o.t("caution.curing"), o.t("caution.codes")}}
	return d, nil
}

// invoiceTime is when it was sold, or now.
func (o Order) invoiceTime() time.Time {
	if o.Sale != nil {
		return o.Sale.SaleTime.AsTime()
	}
	return o.Now
}

// asAgreed lays out the approved estimate, and below it each approved change order.
func (o Order) asAgreed(d *printed.Document) {
	e := o.agreed()
	sum := []*intakev1.EstimateTotals{e.GetTotals()}
	d.Table.Rows = o.rows(e.GetDraft().GetLines())
	for _, it := range o.Commission.ChangeOrders {
		if it.State != intakev1.ChangeOrder_STATE_APPROVED {
			continue
		}
		sum = append(sum, it.Totals)
		d.Table.Rows = append(d.Table.Rows, o.row(o.t("invoice.order", it.Number, it.Reason), "", ""))
		d.Table.Rows = append(d.Table.Rows, o.rows(it.Lines)...)
	}
	d.Sums = o.sums(o.sumOf(sum...), o.taxPercent())
}

// settled lays out what is owed of a commission that was cancelled, figure by figure.
func (o Order) settled(d *printed.Document) {
	s := o.Commission.Settlement
	d.Before = append(d.Before, o.t("settled.cancelled", o.dayOf(s.CancelTime.AsTime())))
	if s.Rule != intakev1.CancelRule_CANCEL_RULE_NOTHING {
		d.Table.Rows = [][]string{o.row(o.t("settled.work", s.Minutes/60, s.Minutes%60, o.amount(s.Rate)), "", o.amount(s.Labour)), o.row(o.t("settled.material"), "", o.amount(s.Material))}
		if o.minorOf(s.Discount) != 0 {
			d.Table.Rows = append(d.Table.Rows, o.row(o.t("discount"), "", o.minor(-o.minorOf(s.Discount))))
		}
		d.Table.Rows = append(d.Table.Rows, o.row(o.t("settled.tax", o.decimal(s.TaxPercent)), "", o.amount(s.Tax)))
	}
	if o.minorOf(s.OfRest) != 0 {
		d.Table.Rows = append(d.Table.Rows, o.row(o.t("settled.rest", o.decimal(s.PercentOfRest), o.amount(s.Approved)), "", o.amount(s.OfRest)))
	}
	d.Sums = []printed.Sum{{Name: o.t("settled.owed"), Amount: o.amount(s.Owed), Strong: true}}
	d.After = append(d.After, o.t("settled.most", o.amount(s.Approved), o.Currency.Code))
}

// toPay is what was paid, and what is left, or comes back.
func (o Order) toPay() []printed.Sum {
	total, paid := o.minorOf(o.Commission.Invoice.Total), o.paid()
	left := total - paid
	out := []printed.Sum{}
	if paid != 0 {
		out = append(out, printed.Sum{Name: o.t("invoice.paid"), Amount: o.minor(-paid)})
	}
	if left < 0 {
		return append(out, printed.Sum{Name: o.t("invoice.back", o.Currency.Code), Amount: o.minor(-left), Strong: true})
	}
	return append(out, printed.Sum{Name: o.t("invoice.left", o.Currency.Code), Amount: o.minor(left), Strong: true})
}

// paid is what sales says was paid, or of one that was cancelled what whoever cancelled it said, or what is said here.
func (o Order) paid() money.Amount {
	switch s := o.Commission.Settlement; {
	case o.Sale != nil:
		return o.minorOf(o.Sale.Deposit) + o.minorOf(o.Sale.Paid)
	case s != nil:
		return o.minorOf(s.DepositPaid)
	}
	return o.minorOf(o.Paid)
}
