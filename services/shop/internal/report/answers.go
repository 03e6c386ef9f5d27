package report

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// notSaid stands for what nobody said.
const notSaid = "not said"

// titleOf is what a line of an answer is of, for people.
func titleOf(title string) string { return cmp.Or(Kind(title), notSaid) }

// percent writes a percentage with its sign, rounded to one digit; none is a dash.
func percent(text string) string {
	if text == "" {
		return none
	}
	exact, err := money.Currency{Digits: 4}.Parse(text)
	if err != nil {
		return text + " %"
	}
	return money.Currency{Digits: 1}.Format(money.MulDiv(exact, 1, 1000)) + " %"
}

// Earnings prints what sold pieces earned, and where some were given up what those lost.
func Earnings(w io.Writer, by string, r *costingv1.ListEarningsResponse) error {
	t := &Table{Headings: []string{by, " pieces", " hours", " revenue", " fees", " cost", " profit", " per hour", " margin"}}
	gone := r.Total.GetGivenUp() > 0
	if gone {
		t.Headings = append(t.Headings, " given up", " lost")
	}
	add := func(title string, e *costingv1.Earning) {
		row := []string{title, pieces(e), Hours(e.Time), Money(e.Revenue), Money(e.Fees), Money(e.Cost), Money(e.Profit), Money(e.ProfitPerLabourHour), percent(e.MarginPercent)}
		if gone {
			row = append(row, number(e.GivenUp), Money(e.Lost))
		}
		t.Add(row...)
	}
	for _, e := range r.Lines {
		title := titleOf(e.Title)
		if e.Piece != "" {
			title = fmt.Sprintf("%d  %s", e.Tag, e.Title)
		}
		add(Clip(title, 40), e)
	}
	t.Add()
	add("all", r.Total)
	if err := t.Print(w); err != nil {
		return err
	}
	_, err := io.WriteString(w, leftOut(r))
	return err
}

// leftOut says what the profit of an answer does not have.
func leftOut(r *costingv1.ListEarningsResponse) (text string) {
	if r.Total.GetProvisional() > 0 {
		text += "?  some of them are not final; `shop cost show TAG` says what is missing.\n"
	}
	if n := r.Total.GetGivenUp(); n > 0 {
		text += fmt.Sprintf("Pieces that were given up are in no profit: %d, which lost %s.\n", n, Money(r.Total.GetLost()))
	}
	if n := r.GetReturned(); n > 0 {
		text += fmt.Sprintf("Returned sales are in no line: %d, which left %s of fees and of what was not refunded; they count when the piece is sold again or given up.\n", n, Money(r.GetLeftByReturns()))
	}
	return text
}

// pieces is how many there are, with a question mark where some are not final.
func pieces(e *costingv1.Earning) string {
	if e.Provisional > 0 {
		return number(e.Pieces) + "?"
	}
	return number(e.Pieces)
}

// EarningsCSV writes the same for a spreadsheet, without the total.
func EarningsCSV(w io.Writer, lines []*costingv1.Earning) error {
	c := NewCSV(w, "key", "title", "tag", "pieces", "provisional", "hours", "revenue", "fees", "cost", "profit", "profit_per_labour_hour", "margin_percent", "given_up", "lost")
	for _, e := range lines {
		c.Row(Free(e.Key), Free(e.Title), tagField(e.Tag), number(e.Pieces), number(e.Provisional), HoursField(e.Time), Plain(e.Revenue), Plain(e.Fees), Plain(e.Cost), Plain(e.Profit),
			Plain(e.ProfitPerLabourHour), e.MarginPercent, number(e.GivenUp), Plain(e.Lost))
	}
	return c.Flush()
}

// tagField is a tag as a field; none is empty.
func tagField(tag int32) string {
	if tag == 0 {
		return ""
	}
	return number(tag)
}

// PlanActuals prints what stages took against their plans.
func PlanActuals(w io.Writer, by string, r *costingv1.ListPlanActualsResponse, c money.Currency) error {
	t := &Table{Headings: []string{by, " stages", " planned", " took", " of it again", " planned cost", " pay", " price", " efficiency", " in all"}}
	add := func(title string, p *costingv1.PlanActual) {
		t.Add(title, measured(p), Hours(p.PlannedTime), Hours(p.ActualTime), Hours(p.ReworkTime), Money(p.PlannedCost), Money(p.ActualPay),
			variance(p.PriceVariance, c), variance(p.EfficiencyVariance, c), variance(p.LabourVariance, c))
	}
	for _, p := range r.Lines {
		title := titleOf(p.Title)
		switch {
		case by == "month" && p.Key == "":
			title = "not finished yet"
		case p.Stage != "":
			title = fmt.Sprintf("%d  %s", p.Tag, p.Title)
		case p.Piece != "":
			title = fmt.Sprintf("%d  %s", p.Tag, p.Title)
		}
		add(Clip(title, 40), p)
	}
	t.Add()
	add("all that are measured", r.Total)
	if err := t.Print(w); err != nil {
		return err
	}
	fmt.Fprintln(w, "U  unfavourable: it cost more than planned hours at the standard rate.  F  favourable: less.")
	if n := r.Total.GetStagesLeftOut(); n > 0 {
		fmt.Fprintf(w, "%d stages with %s hours are not in the sums: they are not finished, or nobody planned a time for them.\n", n, Hours(r.Total.TimeLeftOut))
	}
	if r.AverageRate != nil {
		fmt.Fprintf(w, "Before the first standard rate, stages are measured by what an hour costs on average, %s.\n", Money(r.AverageRate))
	}
	if r.Total.GetProvisional() {
		fmt.Fprintln(w, "?  some of the work has no pay rate yet.")
	}
	return nil
}

// measured is how many stages are, with a question mark where some of the work has no cost yet.
func measured(p *costingv1.PlanActual) string {
	text := number(p.Stages)
	if p.Stages == 0 {
		text = none
	}
	if p.Provisional {
		text += "?"
	}
	return text
}

// variance writes a variance as textbooks do, its size and which way it goes; none is a dash.
func variance(m *moneyv1.Money, c money.Currency) string {
	if m == nil {
		return none
	}
	a, _ := wire.FromMoney(m, c.Digits)
	switch {
	case a > 0:
		return c.Format(a) + " U"
	case a < 0:
		return c.Format(-a) + " F"
	}
	return c.Format(0) + "  "
}

// PlanActualsCSV writes the same for a spreadsheet, without the total; what is above zero is unfavourable.
func PlanActualsCSV(w io.Writer, lines []*costingv1.PlanActual) error {
	c := NewCSV(w, "key", "title", "tag", "stage_kind", "stages", "planned_hours", "actual_hours", "rework_hours", "standard_rate", "planned_cost", "actual_pay",
		"price_variance", "efficiency_variance", "labour_variance", "stages_left_out", "hours_left_out", "provisional")
	for _, p := range lines {
		c.Row(Free(p.Key), Free(p.Title), tagField(p.Tag), Free(p.StageKind), number(p.Stages), HoursField(p.PlannedTime), HoursField(p.ActualTime), HoursField(p.ReworkTime),
			Plain(p.StandardRate), Plain(p.PlannedCost), Plain(p.ActualPay), Plain(p.PriceVariance), Plain(p.EfficiencyVariance), Plain(p.LabourVariance),
			number(p.StagesLeftOut), HoursField(p.TimeLeftOut), fmt.Sprint(p.Provisional))
	}
	return c.Flush()
}

// Rework prints what doing things again cost; what there was none of has no column.
func Rework(w io.Writer, by string, r *costingv1.ListReworkResponse) error {
	kinds := reworkKinds(r.Total)
	t := &Table{Headings: []string{by, " hours"}}
	for _, k := range kinds {
		t.Headings = append(t.Headings, " "+k.name)
	}
	t.Headings = append(t.Headings, " cost")
	add := func(title string, l *costingv1.Rework) {
		row := []string{title, Hours(l.Time)}
		for _, k := range kinds {
			row = append(row, Money(k.of(l)))
		}
		t.Add(append(row, Money(l.Cost))...)
	}
	for _, l := range r.Lines {
		add(Clip(titleOf(l.Title), 40), l)
	}
	t.Add()
	add("all", r.Total)
	return t.Print(w)
}

// reworkKind is a kind of cost of rework.
type reworkKind struct {
	name string
	of   func(*costingv1.Rework) *moneyv1.Money
}

// reworkKinds are those of which there is something.
func reworkKinds(total *costingv1.Rework) (out []reworkKind) {
	for _, k := range []reworkKind{{"labour", (*costingv1.Rework).GetLabour}, {"premium", (*costingv1.Rework).GetPremium}, {"burden", (*costingv1.Rework).GetBurden},
		{"overhead", (*costingv1.Rework).GetOverhead}, {"material", (*costingv1.Rework).GetMaterial}, {"outside", (*costingv1.Rework).GetOutside}} {
		if !zero(k.of(total)) {
			out = append(out, k)
		}
	}
	return out
}

// ReworkCSV writes the same for a spreadsheet, without the total.
func ReworkCSV(w io.Writer, lines []*costingv1.Rework) error {
	c := NewCSV(w, "key", "title", "hours", "labour", "premium", "burden", "overhead", "material", "outside", "cost")
	for _, l := range lines {
		c.Row(Free(l.Key), Free(l.Title), HoursField(l.Time), Plain(l.Labour), Plain(l.Premium), Plain(l.Burden), Plain(l.Overhead), Plain(l.Material), Plain(l.Outside), Plain(l.Cost))
	}
	return c.Flush()
}

// toCome adds what the cost in the end has more than the cost so far.
func toCome(t *Table, r *costingv1.PriceWhatIfResponse) {
	if r.LabourToCome != nil {
		t.Add("hours to come, at "+Money(r.StandardRate), "", Money(r.LabourToCome))
	}
	for _, l := range []struct {
		title string
		m     *moneyv1.Money
	}{{"burden on them", r.BurdenToCome}, {"overhead on them", r.OverheadToCome}, {"material to come", r.MaterialToCome}} {
		if !zero(l.m) {
			t.Add(l.title, "", Money(l.m))
		}
	}
}

// WhatIf prints what a piece would earn at a price.
func WhatIf(w io.Writer, r *costingv1.PriceWhatIfResponse) error {
	t := &Table{Headings: []string{"", " hours", " amount"}}
	t.Add("price", "", Money(r.Price))
	if !zero(r.Fee) {
		t.Add("channel fee", "", Money(r.Fee))
	}
	t.Add("cost so far", "", Money(r.CostSoFar))
	toCome(t, r)
	t.Add("cost in the end", "", Money(r.Cost))
	if !zero(r.LeftBySales) {
		t.Add("left by a sale that was taken back", "", Money(r.LeftBySales))
	}
	t.Add()
	t.Add("profit", Hours(r.Time), Money(r.Profit))
	t.Add("profit per labour hour", "", Money(r.ProfitPerLabourHour))
	t.Add("margin, of the price", "", percent(r.MarginPercent))
	t.Add("markup, of what is spent", "", percent(r.MarkupPercent))
	t.Add("break-even price", "", Money(r.BreakEvenPrice))
	if r.TargetPrice != nil {
		t.Add("price for the target", "", Money(r.TargetPrice))
	}
	if err := t.Print(w); err != nil {
		return err
	}
	if r.StandardRateIsAverage {
		fmt.Fprintf(w, "\nNobody said what an hour should cost (shop cost standard set): %s is the average of today's pay rates, by the hours that each has worked.\n", Money(r.StandardRate))
	}
	if len(r.ProvisionalReasons) > 0 {
		fmt.Fprintf(w, "\nNot final: %s.\n", strings.Join(r.ProvisionalReasons, "; "))
	}
	return nil
}
