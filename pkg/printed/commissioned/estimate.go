package commissioned

import (
	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// Estimate is a version of the estimate; 0: the newest. Faults: VERSION_UNKNOWN, LETTERHEAD_MISSING, LANGUAGE_UNKNOWN,
// PAPER_UNKNOWN.
func Estimate(o Order, version int32) (d printed.Document, err error) {
	if err := o.check(); err != nil {
		return d, err
	}
	all := o.Commission.Estimates
	if version == 0 {
		version = int32(len(all))
	}
	if version < 1 || int(version) > len(all) {
		return d, fault.New(fault.NotFound, "VERSION_UNKNOWN", "There is no version %d of the estimate; the newest is %d.", version, len(all)).At("version")
	}
	e := all[version-1]
	if d, err = o.letter(o.t("estimate.title", o.Commission.Number, version), e.DraftTime.AsTime()); err != nil {
		return d, err
	}
	d.Facts = append([]printed.Fact{{Name: o.t("number"), Text: o.t("estimate.number", o.Commission.Number, version)}, {Name: o.t("date"), Text: o.dayOf(e.DraftTime.AsTime())},
		{Name: o.t("valid"), Text: o.day(e.GetDraft().GetValidUntil())}}, o.piece()...)
	d.Before = append(filled(o.Commission.Description, e.GetDraft().GetNotes()), o.standing(e, len(all))...)
	d.Table = o.table()
	d.Table.Rows = o.rows(e.GetDraft().GetLines())
	d.Sums = o.sums(o.sumOf(e.Totals), e.GetDraft().GetTaxPercent())
	d.After = append(o.says(e), filled(o.Letterhead.Closing)...)
	d.Cautions = o.cautions(e.Cautions)
	d.Sign = []string{o.t("sign.approved"), o.t("sign.date")}
	return d, nil
}

// standing says why a version was written, and whether it still counts.
func (o Order) standing(e *intakev1.Estimate, newest int) (out []string) {
	if e.Reason != "" {
		out = append(out, o.t("estimate.revised", e.Reason))
	}
	if int(e.Version) < newest {
		out = append(out, o.t("estimate.superseded", newest))
	}
	if a := e.Answer; a != nil && int(e.Version) == o.approved() {
		out = append(out, o.t("estimate.approved", a.By, o.dayOf(a.Time.AsTime())))
	} else if a != nil {
		out = append(out, o.t("estimate.declined", o.dayOf(a.Time.AsTime())))
	}
	return out
}

func (o Order) approved() int { return int(o.Commission.ApprovedVersion) }

// says is what holds of an estimate beside its figures.
func (o Order) says(e *intakev1.Estimate) (out []string) {
	if low, high := e.GetTotalsLow().GetTotal(), e.GetTotalsHigh().GetTotal(); o.Hours && o.minorOf(low) != o.minorOf(high) {
		out = append(out, o.t("estimate.range", o.amount(low), o.amount(high), o.Currency.Code))
	}
	if x := e.TaxExemption; x != nil {
		out = append(out, o.t("exempt", joined(x.Reason, x.Number)))
	}
	if o.minorOf(e.Deposit) > 0 {
		out = append(out, o.t("estimate.deposit", o.amount(e.Deposit), o.Currency.Code))
	}
	if day := o.day(e.GetDraft().GetPromised()); day != "" {
		out = append(out, o.t("estimate.promised", day))
	}
	return append(out, o.t("estimate.changes"), o.cancelling(e))
}

// cancelling says what is owed if the client changes their mind.
func (o Order) cancelling(e *intakev1.Estimate) string {
	switch e.CancelRule {
	case intakev1.CancelRule_CANCEL_RULE_NOTHING:
		return o.t("cancel.nothing")
	case intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT:
		return o.t("cancel.percent", o.decimal(e.CancelPercent))
	}
	return o.t("cancel.work")
}

// cautions are what a client should know, in the reader's language; one that a later release of intake has says itself.
// What damage hides is said where change orders are.
func (o Order) cautions(all []*intakev1.EstimateCaution) printed.Cautions {
	c := printed.Cautions{Title: o.t("cautions")}
	for _, it := range all {
		switch key := "caution." + it.Id; {
		case it.Id == "hidden_damage":
		case o.has(key):
			c.Lines = append(c.Lines, o.t(key))
		default:
			c.Lines = append(c.Lines, it.Says)
		}
	}
	c.Lines = append(c.Lines, o.t("caution.curing"), o.t("caution.codes"))
	return c
}
