package commissioned

import (
	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/pkg/printed"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// ChangeOrder is a change order. Faults: CHANGE_ORDER_NOT_FOUND, LETTERHEAD_MISSING, LANGUAGE_UNKNOWN, PAPER_UNKNOWN.
func ChangeOrder(o Order, number int32) (d printed.Document, err error) {
	if err := o.check(); err != nil {
		return d, err
	}
	c := o.Commission
	if number < 1 || int(number) > len(c.ChangeOrders) {
		return d, fault.New(fault.NotFound, "CHANGE_ORDER_NOT_FOUND", "Commission %d has no change order %d; look it up on the commission.", c.Number, number).At("number")
	}
	it := c.ChangeOrders[number-1]
	if d, err = o.letter(o.t("order.title", number, c.Number), it.AddTime.AsTime()); err != nil {
		return d, err
	}
	d.Facts = append([]printed.Fact{{Name: o.t("number"), Text: o.t("order.number", c.Number, number)}, {Name: o.t("date"), Text: o.dayOf(it.AddTime.AsTime())},
		{Name: o.t("order.estimate"), Text: o.t("estimate.number", c.Number, c.ApprovedVersion)}}, o.piece()...)
	d.Before = append([]string{c.Description, o.t("order.found", it.Reason)}, o.answered(it)...)
	d.Table = o.table()
	d.Table.Rows = o.rows(it.Lines)
	before, with := o.around(it)
	d.Sums = append(o.sums(o.sumOf(it.Totals), o.taxPercent()), printed.Sum{Name: o.t("order.before"), Amount: o.minor(before)}, printed.Sum{Name: o.t("order.with"), Amount: o.minor(with), Strong: true})
	if low, high := it.GetTotalsLow().GetTotal(), it.GetTotalsHigh().GetTotal(); o.Hours && o.minorOf(low) != o.minorOf(high) {
		d.After = append(d.After, o.t("estimate.range", o.amount(low), o.amount(high), o.Currency.Code))
	}
	if day := o.day(it.Promised); day != "" {
		d.After = append(d.After, o.t("order.promised", day))
	}
	d.After = append(append(d.After, o.t("order.rule")), filled(o.Letterhead.Closing)...)
	d.Cautions = o.cautions(o.agreed().GetCautions())
	d.Sign = []string{o.t("sign.approved"), o.t("sign.date")}
	return d, nil
}

// agreed is the approved version of the estimate.
func (o Order) agreed() *intakev1.Estimate {
	if n := o.approved(); n > 0 && n <= len(o.Commission.Estimates) {
		return o.Commission.Estimates[n-1]
	}
	return nil
}

func (o Order) taxPercent() string { return o.agreed().GetDraft().GetTaxPercent() }

// around is what was agreed on without a change order, and what would be with it.
func (o Order) around(it *intakev1.ChangeOrder) (before, with money.Amount) {
	before = o.minorOf(o.agreed().GetTotals().GetTotal())
	for _, other := range o.Commission.ChangeOrders {
		if other != it && other.State == intakev1.ChangeOrder_STATE_APPROVED && other.Number < it.Number {
			before += o.minorOf(other.GetTotals().GetTotal())
		}
	}
	return before, before + o.minorOf(it.GetTotals().GetTotal())
}

func (o Order) answered(it *intakev1.ChangeOrder) []string {
	switch a := it.Answer; {
	case a == nil:
		return nil
	case it.State == intakev1.ChangeOrder_STATE_APPROVED:
		return []string{o.t("estimate.approved", a.By, o.dayOf(a.Time.AsTime()))}
	default:
		return []string{o.t("estimate.declined", o.dayOf(a.Time.AsTime()))}
	}
}
