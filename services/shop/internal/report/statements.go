package report

import (
	"fmt"
	"io"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Trial prints a trial balance.
func Trial(w io.Writer, trial *costingv1.GetTrialBalanceResponse) error {
	t := &Table{Headings: []string{"number", "account", " debit", " credit"}}
	for _, r := range trial.GetRows() {
		t.Add(r.Number, r.Title, filled(r.Debit), filled(r.Credit))
	}
	t.Add()
	t.Add("", "all", Money(trial.GetDebit()), Money(trial.GetCredit()))
	return t.Print(w)
}

// filled is an amount; none is left empty.
func filled(m *moneyv1.Money) string {
	if m == nil {
		return ""
	}
	return Money(m)
}

// ProfitAndLoss prints what some months earned and spent.
func ProfitAndLoss(w io.Writer, p *costingv1.GetProfitAndLossResponse) error {
	state := "open: it still changes"
	if p.GetClosed() {
		state = "closed"
	}
	if _, err := fmt.Fprintf(w, "%s to %s, %s.\n\n", month(p.GetFromMonth()), month(p.GetToMonth()), state); err != nil {
		return err
	}
	t := &Table{Headings: []string{"number", "account", " amount"}}
	section(t, p.GetIncome(), "income")
	section(t, p.GetCostOfSales(), "cost of sales")
	t.Add("", "gross profit", Money(p.GetGrossProfit()))
	t.Add()
	section(t, p.GetExpenses(), "expenses")
	t.Add("", "profit", Money(p.GetProfit()))
	if m := p.GetLate(); !zero(m) {
		t.Add("", "of it late, of closed months", Money(m))
	}
	return t.Print(w)
}

// section adds the lines of a part of a statement and their sum.
func section(t *Table, s *costingv1.StatementSection, name string) {
	for _, l := range s.GetLines() {
		t.Add(l.Number, l.Title, Money(l.Amount))
	}
	t.Add("", name, Money(s.GetTotal()))
	t.Add()
}

// Balance prints what is owned, owed and earned.
func Balance(w io.Writer, b *costingv1.GetBalanceSheetResponse) error {
	t := &Table{Headings: []string{"number", "account", " amount"}}
	section(t, b.GetAssets(), "owned")
	section(t, b.GetLiabilities(), "owed")
	t.Add("", "earned so far: owned less owed", Money(b.GetEarned()))
	if err := t.Print(w); err != nil {
		return err
	}
	_, err := fmt.Fprintln(w, paidElsewhere)
	return err
}

// Rules prints the chart of accounts and the rules, for a bookkeeper.
func Rules(w io.Writer, r *costingv1.GetAccountRulesResponse) error {
	whose := "These come with the program."
	if r.GetOwn() {
		whose = "These are the shop's own."
	}
	if _, err := fmt.Fprintf(w, "%s\n\n", whose); err != nil {
		return err
	}
	t := &Table{Headings: []string{"number", "account", "kind", "name in the rules"}}
	titles := map[string]string{}
	for _, a := range r.GetAccounts() {
		titles[a.Account] = a.Title
		t.Add(a.Number, a.Title, a.Kind, a.Account)
	}
	if err := t.Print(w); err != nil {
		return err
	}
	for _, rule := range r.GetRules() {
		if _, err := fmt.Fprintf(w, "\n%s: %s\n%s%s", Kind(rule.Rule), rule.Says, ruleLines("debit", rule.Debits, titles), ruleLines("credit", rule.Credits, titles)); err != nil {
			return err
		}
	}
	return nil
}

// ruleLines writes one side of a rule.
func ruleLines(side string, lines []*costingv1.GetAccountRulesResponse_Line, titles map[string]string) string {
	var b strings.Builder
	for _, l := range lines {
		fmt.Fprintf(&b, "    %-6s  %s: %s", side, titles[l.Account], l.Amount)
		if l.Sheet != "" {
			fmt.Fprintf(&b, " (%s of the cost sheet)", l.Sheet)
		}
		b.WriteString("\n")
	}
	return b.String()
}
