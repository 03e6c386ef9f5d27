package commissioned

import (
	"strconv"
	"strings"

	"tackfree/pkg/money"
	"tackfree/pkg/printed"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// Receipt is what a buyer is given of a sale or a set, by the letterhead, the currency, the zone, the language and the paper of
// an order; whose it is it says itself. Faults: LETTERHEAD_MISSING, LANGUAGE_UNKNOWN, PAPER_UNKNOWN.
func Receipt(o Order, r *salesv1.Receipt) (d printed.Document, err error) {
	if err := o.check(); err != nil {
		return d, err
	}
	o.Commission, o.Client = &intakev1.CommissionOrder{ClientName: r.Buyer}, nil
	at := r.SaleTime.AsTime()
	if d, err = o.letter(o.t("receipt.title", r.Number), at); err != nil {
		return d, err
	}
	d.Facts = []printed.Fact{{Name: o.t("number"), Text: strconv.FormatInt(r.Number, 10)}, {Name: o.t("date"), Text: o.dayOf(at)}}
	d.Table = printed.Table{Columns: []printed.Column{{Heading: o.t("piece"), Share: 1}, {Heading: o.t("what"), Share: 3}, {Heading: o.Currency.Code, Amounts: true}}}
	for _, l := range r.Lines {
		what := l.Title
		if l.PieceReturned {
			what = o.t("receipt.returned", what)
		}
		d.Table.Rows = append(d.Table.Rows, []string{o.t("tag", l.Tag), what, o.amount(l.Price)})
	}
	d.Sums = o.received(r)
	if r.TaxExempt {
		d.After = append(d.After, o.t("exempt", r.ExemptReason))
	}
	d.After = append(d.After, filled(o.Letterhead.Closing)...)
	// Common practice; how long a finish takes to cure is its product's to say.
	d.Cautions = printed.Cautions{Title: o.t("receipt.care"), Lines: []string{o.t("caution.curing"), o.t("receipt.care.clean"), o.t("receipt.care.lead"), o.t("caution.codes")}}
	return d, nil
}

// received is what it came to, what was paid of that, and what is left: the amounts above the last one add up to it, the total
// standing for price and tax.
func (o Order) received(r *salesv1.Receipt) []printed.Sum {
	out := []printed.Sum{{Name: o.t("subtotal"), Amount: o.amount(r.Price)}}
	switch {
	case r.TaxPlace != "" && !r.TaxExempt:
		out = append(out, printed.Sum{Name: o.t("receipt.tax", o.decimal(r.TaxPercent), r.TaxPlace), Amount: o.amount(r.Tax)})
	case o.minorOf(r.Tax) != 0:
		out = append(out, printed.Sum{Name: o.t("receipt.tax.said"), Amount: o.amount(r.Tax)})
	}
	out = append(out, printed.Sum{Name: o.t("total"), Amount: o.amount(r.Total), Strong: true})
	less := o.minorOf(r.Refunded)
	out = o.lessened(out, "receipt.refunded", less)
	out = o.lessened(out, "receipt.deposit", o.minorOf(r.Deposit))
	left := o.minorOf(r.Total) - less - o.minorOf(r.Deposit)
	for _, p := range r.Payments {
		out = append(out, printed.Sum{Name: o.t("receipt.paid"+word(p.Method), o.dayOf(p.PaymentTime.AsTime())), Amount: o.minor(-o.minorOf(p.Amount))})
		if rounding := o.minorOf(p.Rounding); rounding != 0 {
			out = append(out, printed.Sum{Name: o.t("receipt.rounding"), Amount: o.minor(rounding)})
		}
		left -= o.minorOf(p.Amount) - o.minorOf(p.Rounding)
	}
	if back := o.minorOf(r.Due) - left; back != 0 {
		out = append(out, printed.Sum{Name: o.t("receipt.out"), Amount: o.minor(back)})
	}
	return append(out, printed.Sum{Name: o.t("receipt.due", o.Currency.Code), Amount: o.amount(r.Due), Strong: true})
}

// lessened adds what is taken away, unless it is nothing.
func (o Order) lessened(sums []printed.Sum, key string, by money.Amount) []printed.Sum {
	if by == 0 {
		return sums
	}
	return append(sums, printed.Sum{Name: o.t(key), Amount: o.minor(-by)})
}

// word is the end of a key for how something was paid; empty: nobody said.
func word(m salesv1.PaymentMethod) string {
	if m == salesv1.PaymentMethod_PAYMENT_METHOD_UNSPECIFIED {
		return ""
	}
	return "." + strings.ToLower(strings.TrimPrefix(m.String(), "PAYMENT_METHOD_"))
}
