package report

import (
	"fmt"
	"io"
	"slices"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// statement is a table of accounts with one column of amounts, or with one for each month.
type statement struct {
	Table
	sum bool // after those of the months another one, of all of them
}

// monthly is a month as a statement has it.
type monthly interface{ GetFirstDate() *date.Date }

// newStatement begins one with its headings; open tells of which months it still changes.
func newStatement[M monthly](months []M, sum bool, open func(M) bool) *statement {
	s := &statement{Table{Headings: []string{"number", "account"}}, sum}
	for _, m := range months {
		heading := " " + month(m.GetFirstDate())
		if open(m) {
			heading += " (open)"
		}
		s.Headings = append(s.Headings, heading)
	}
	switch {
	case len(months) == 0:
		s.Headings = append(s.Headings, " amount")
	case sum:
		s.Headings = append(s.Headings, " sum")
	}
	return s
}

// row adds an amount, or those of the months.
func (s *statement) row(number, title string, months []*moneyv1.Money, all *moneyv1.Money) {
	cells := []string{number, title}
	for _, m := range months {
		cells = append(cells, Money(m))
	}
	if len(months) == 0 || s.sum {
		cells = append(cells, Money(all))
	}
	s.Add(cells...)
}

// section adds the lines of a part of a statement and their sum.
func (s *statement) section(part *costingv1.StatementSection, name string) {
	for _, l := range part.GetLines() {
		s.row(l.Number, l.Title, l.AmountsByMonth, l.Amount)
	}
	s.row("", name, part.GetTotalsByMonth(), part.GetTotal())
	s.Add()
}

// each are amounts of months, in their order.
func each[M any](months []M, of func(M) *moneyv1.Money) (out []*moneyv1.Money) {
	for _, m := range months {
		out = append(out, of(m))
	}
	return out
}

// ProfitAndLoss prints what some months earned and spent, together or also each by itself.
func ProfitAndLoss(w io.Writer, p *costingv1.GetProfitAndLossResponse) error {
	state := "open: it still changes"
	if p.GetClosed() {
		state = "closed"
	}
	if _, err := fmt.Fprintf(w, "%s to %s, %s.\n\n", month(p.GetFromMonth()), month(p.GetToMonth()), state); err != nil {
		return err
	}
	type of = costingv1.GetProfitAndLossResponse_Month
	months := p.GetMonths()
	s := newStatement(months, true, func(m *of) bool { return !m.GetClosed() })
	s.section(p.GetIncome(), "income")
	s.section(p.GetCostOfSales(), "cost of sales")
	s.row("", "gross profit", each(months, (*of).GetGrossProfit), p.GetGrossProfit())
	s.Add()
	s.section(p.GetExpenses(), "expenses")
	s.row("", "profit", each(months, (*of).GetProfit), p.GetProfit())
	if late := each(months, (*of).GetLate); !zero(p.GetLate()) || slices.ContainsFunc(late, func(m *moneyv1.Money) bool { return !zero(m) }) {
		s.row("", "of it late, of months closed before", late, p.GetLate())
	}
	return s.Print(w)
}

// Balance prints what is owned, owed and earned, at an instant or at the end of each of some months.
func Balance(w io.Writer, b *costingv1.GetBalanceSheetResponse) error {
	type of = costingv1.GetBalanceSheetResponse_Month
	months := b.GetMonths()
	s := newStatement(months, false, func(*of) bool { return false })
	s.section(b.GetAssets(), "owned")
	s.section(b.GetLiabilities(), "owed")
	s.row("", "earned so far: owned less owed", each(months, (*of).GetEarned), b.GetEarned())
	if err := s.Print(w); err != nil {
		return err
	}
	_, err := fmt.Fprintln(w, paidElsewhere)
	return err
}
