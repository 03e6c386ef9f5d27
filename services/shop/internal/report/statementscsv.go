package report

import (
	"cmp"
	"fmt"
	"io"
	"slices"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// filed is an account as a bookkeeper files it: by its number, or by its name where it has none.
func filed(number, account string) string { return Free(cmp.Or(number, account)) }

// TrialCSV writes a trial balance for a spreadsheet, without the sums.
func TrialCSV(w io.Writer, trial *costingv1.GetTrialBalanceResponse) error {
	c := NewCSV(w, "before", "account", "account_title", "debit", "credit", "currency")
	for _, r := range trial.GetRows() {
		c.Row(InstantField(trial.GetTime()), filed(r.Number, r.Account), Free(r.Title), Plain(r.Debit), Plain(r.Credit), cmp.Or(r.GetDebit().GetCurrencyCode(), r.GetCredit().GetCurrencyCode()))
	}
	return c.Flush()
}

// part is a part of a statement and what its rows are called.
type part struct {
	name    string
	section *costingv1.StatementSection
}

// partsCSV writes the lines of a statement's parts, without the sums of their rows. Before are the fields that all rows
// begin with; a statement of several months has a column for each.
func partsCSV(c *CSV, before []string, sum bool, parts ...part) {
	for _, p := range parts {
		for _, l := range p.section.GetLines() {
			row := append(slices.Clone(before), p.name, filed(l.Number, l.Account), Free(l.Title))
			for _, m := range l.AmountsByMonth {
				row = append(row, Plain(m))
			}
			if len(l.AmountsByMonth) == 0 || sum {
				row = append(row, Plain(l.Amount))
			}
			c.Row(append(row, l.GetAmount().GetCurrencyCode())...)
		}
	}
}

// ProfitAndLossCSV writes what some months earned and spent for a spreadsheet; income less all else is the profit.
func ProfitAndLossCSV(w io.Writer, p *costingv1.GetProfitAndLossResponse) error {
	headings := []string{"from_month", "to_month", "section", "account", "account_title"}
	for _, m := range p.GetMonths() {
		headings = append(headings, month(m.GetFirstDate()))
	}
	c := NewCSV(w, append(headings, "amount", "currency")...)
	partsCSV(c, []string{month(p.GetFromMonth()), month(p.GetToMonth())}, true,
		part{"income", p.GetIncome()}, part{"cost_of_sales", p.GetCostOfSales()}, part{"expenses", p.GetExpenses()})
	return c.Flush()
}

// BalanceCSV writes what is owned, owed and earned for a spreadsheet; what is earned is what is owned less what is owed.
func BalanceCSV(w io.Writer, b *costingv1.GetBalanceSheetResponse) error {
	type of = costingv1.GetBalanceSheetResponse_Month
	earned := &costingv1.StatementSection{Lines: []*costingv1.StatementSection_Line{{Account: "earned", Title: "Earned so far", Amount: b.GetEarned(), AmountsByMonth: each(b.GetMonths(), (*of).GetEarned)}}}
	parts := []part{{"assets", b.GetAssets()}, {"liabilities", b.GetLiabilities()}, {"earned", earned}}
	if len(b.GetMonths()) == 0 {
		c := NewCSV(w, "before", "section", "account", "account_title", "amount", "currency")
		partsCSV(c, []string{InstantField(b.GetTime())}, false, parts...)
		return c.Flush()
	}
	headings := []string{"section", "account", "account_title"}
	for _, m := range b.GetMonths() {
		headings = append(headings, month(m.GetFirstDate()))
	}
	c := NewCSV(w, append(headings, "currency")...)
	partsCSV(c, nil, false, parts...)
	return c.Flush()
}

// MonthsCSV writes how months stand for a spreadsheet.
func MonthsCSV(w io.Writer, months []*costingv1.Month) error {
	c := NewCSV(w, "month", "since", "closed", "closed_by", "settlement", "with_indirect_labour", "applied", "actual", "indirect_labour", "under_applied", "late", "profit", "currency")
	for _, m := range months {
		since, settlement := "", ""
		if m.GetSinceDate() != nil {
			since = month(m.GetSinceDate())
		}
		if m.GetCloseTime() != nil {
			settlement = settlementFields[m.GetSettlement()]
		}
		c.Row(month(m.GetFirstDate()), since, InstantField(m.GetCloseTime()), Free(m.GetClosedBy()), settlement, fmt.Sprint(m.GetWithIndirectLabour()), Plain(m.GetApplied()), Plain(m.GetActual()),
			Plain(m.GetIndirectLabour()), Plain(m.GetUnderApplied()), Plain(m.GetLate()), Plain(m.GetProfit()), m.GetProfit().GetCurrencyCode())
	}
	return c.Flush()
}

// settlementFields are what becomes of the difference, as a field.
var settlementFields = map[costingv1.Month_Settlement]string{
	costingv1.Month_SETTLEMENT_COST_OF_GOODS_SOLD: "cost_of_goods_sold", costingv1.Month_SETTLEMENT_PRORATED: "prorated",
}

// TiedUpCSV writes what is tied up and what was booked as owed for a spreadsheet; the pieces by themselves are
// what is in hand.
func TiedUpCSV(w io.Writer, r *costingv1.GetCashTiedUpResponse) error {
	c := NewCSV(w, "section", "account", "account_title", "amount", "currency")
	for _, group := range []struct {
		name     string
		accounts []*costingv1.GetCashTiedUpResponse_Account
	}{{"tied_up", r.GetTied()}, {"owed", r.GetOwed()}} {
		for _, a := range group.accounts {
			c.Row(group.name, Free(a.Account), Free(a.Title), Plain(a.Amount), a.GetAmount().GetCurrencyCode())
		}
	}
	return c.Flush()
}

// WhatIfCSV writes what a piece would earn at a price for a spreadsheet.
func WhatIfCSV(w io.Writer, tag int32, r *costingv1.PriceWhatIfResponse) error {
	c := NewCSV(w, "tag", "price", "fee", "cost_so_far", "labour_to_come", "burden_to_come", "overhead_to_come", "material_to_come", "cost", "left_by_sales", "standard_rate",
		"profit", "margin_percent", "markup_percent", "hours", "profit_per_labour_hour", "break_even_price", "target_price", "provisional", "currency")
	c.Row(number(tag), Plain(r.Price), Plain(r.Fee), Plain(r.CostSoFar), Plain(r.LabourToCome), Plain(r.BurdenToCome), Plain(r.OverheadToCome), Plain(r.MaterialToCome), Plain(r.Cost), Plain(r.LeftBySales),
		Plain(r.StandardRate), Plain(r.Profit), r.MarginPercent, r.MarkupPercent, HoursField(r.Time), Plain(r.ProfitPerLabourHour), Plain(r.BreakEvenPrice), Plain(r.TargetPrice),
		fmt.Sprint(r.Provisional), r.GetPrice().GetCurrencyCode())
	return c.Flush()
}

// PieceCSV writes the cost sheet of one piece for a spreadsheet, a row for each of its lines, by the names that
// the lines of the ledger have for them, without the sums.
func PieceCSV(w io.Writer, p *costingv1.PieceCost) error {
	c := NewCSV(w, "tag", "title", "state", "provisional", "sheet_line", "hours", "amount", "currency")
	s := p.GetSums()
	for _, l := range []struct {
		name, hours string
		amount      *moneyv1.Money
	}{
		{"revenue", "", s.GetRevenue()}, {"fees", "", s.GetFees()}, {"acquisition", "", s.GetAcquisition()}, {"labour", HoursField(s.GetLabourTime()), s.GetLabour()}, {"premium", "", s.GetPremium()},
		{"burden", "", s.GetBurden()}, {"overhead", "", s.GetOverhead()}, {"material", "", s.GetMaterial()}, {"outside", "", s.GetOutside()},
		{"rework", HoursField(s.GetReworkTime()), s.GetRework()}, {"tax", "", s.GetTaxCollected()},
	} {
		c.Row(number(p.Tag), Free(p.Title), State(p.State.String()), fmt.Sprint(p.Provisional), l.name, l.hours, Plain(l.amount), l.amount.GetCurrencyCode())
	}
	return c.Flush()
}
