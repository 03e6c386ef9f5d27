package commissioned

import (
	"tackfree/pkg/money"
	"tackfree/pkg/printed"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// table is the table of lines without rows.
func (o Order) table() printed.Table {
	t := printed.Table{Columns: []printed.Column{{Heading: o.t("what"), Share: 3}}}
	if o.Hours {
		t.Columns = append(t.Columns, printed.Column{Heading: o.t("hours"), Share: 1})
	}
	t.Columns = append(t.Columns, printed.Column{Heading: o.Currency.Code, Amounts: true})
	return t
}

// row lays cells under the columns: what it is, its hours, its price.
func (o Order) row(what, hours, price string) []string {
	if !o.Hours {
		return []string{what, price}
	}
	return []string{what, hours, price}
}

func (o Order) rows(lines []*intakev1.EstimateLine) (rows [][]string) {
	for _, l := range lines {
		what := l.What
		if l.Untaxed {
			what += " (" + o.t("untaxed") + ")"
		}
		rows = append(rows, o.row(what, o.hours(l.GetLabour()), o.amount(l.Price)))
	}
	return rows
}

// hours writes the likely hours, and between what they may be.
func (o Order) hours(l *intakev1.EstimateLine_Labour) string {
	switch {
	case l == nil:
		return ""
	case l.HoursLow == l.HoursHigh:
		return o.t("hours.likely", o.decimal(l.HoursLikely))
	}
	return o.t("hours.range", o.decimal(l.HoursLikely), o.decimal(l.HoursLow), o.decimal(l.HoursHigh))
}

// totals is what several estimates and change orders come to.
type totals struct{ subtotal, discount, taxable, tax, total money.Amount }

func (o Order) sumOf(all ...*intakev1.EstimateTotals) (t totals) {
	for _, e := range all {
		t.subtotal += o.minorOf(e.GetSubtotal())
		t.discount += o.minorOf(e.GetDiscount())
		t.taxable += o.minorOf(e.GetTaxable())
		t.tax += o.minorOf(e.GetTax())
		t.total += o.minorOf(e.GetTotal())
	}
	return t
}

// sums writes what lines come to. Percent is that of the tax.
func (o Order) sums(t totals, percent string) []printed.Sum {
	out := []printed.Sum{{Name: o.t("subtotal"), Amount: o.minor(t.subtotal)}}
	if t.discount != 0 {
		out = append(out, printed.Sum{Name: o.t("discount"), Amount: o.minor(-t.discount)})
	}
	if percent != "" && percent != "0" || t.tax != 0 {
		out = append(out, printed.Sum{Name: o.t("tax", o.decimal(percent), o.minor(t.taxable)), Amount: o.minor(t.tax)})
	}
	return append(out, printed.Sum{Name: o.t("total"), Amount: o.minor(t.total), Strong: true})
}
