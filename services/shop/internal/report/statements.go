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

// boughtOn is what a bookkeeper would look for in vain on the day of a receipt.
const boughtOn = "A purchase counts on the day on which its piece is taken in, whatever day the purchase itself is said to have been."

// Rules prints the chart of accounts and the rules, for a bookkeeper.
func Rules(w io.Writer, r *costingv1.GetAccountRulesResponse) error {
	whose := "These come with the program."
	if r.GetOwn() {
		whose = "These are the shop's own."
	}
	if _, err := fmt.Fprintf(w, "%s\n%s\n\n", whose, boughtOn); err != nil {
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
