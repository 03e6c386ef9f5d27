package costing

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// demand is what the books must find in a rule, whatever else a bookkeeper makes of it: its amounts,
// and what it puts, in the words of the rules, in each line of a cost sheet and on the accounts that
// the books look for. In a line or on an account that is not named it puts nothing.
type demand struct {
	amounts  []string
	sheets   map[Bucket]string
	accounts map[Account]string
}

// spent demands that an amount is a cost of a piece and stands against some account.
func spent(amount string, bucket Bucket, against Account) demand {
	d := demand{[]string{amount}, map[Bucket]string{bucket: amount}, map[Account]string{homeOf(bucket): amount}}
	if against != "" {
		d.accounts[against] = "-" + amount
	}
	return d
}

// shops demands that an amount goes to an account of the shop's own.
func shops(amount string, to, against Account) demand {
	return demand{amounts: []string{amount}, accounts: map[Account]string{to: amount, against: "-" + amount}}
}

// stands demands that all cost leaves what is in process, for another account.
func stands(to Account) demand {
	d := demand{amounts: []string{"begun", "again"}, accounts: map[Account]string{WorkInProcess: "-begun", Again: "-again"}}
	if to != "" {
		d.accounts[to] = "begun + again"
	}
	return d
}

// demands are the rules that the books cannot do without.
var demands = map[string]demand{
	"piece_bought": spent("price", Acquisition, ""),
	"labour":       spent("pay", Labour, WagesPayable), "labour_again": spent("pay", Rework, WagesPayable),
	"labour_on_no_piece": shops("pay", IndirectLabour, WagesPayable),
	"burden":             spent("burden", OnPay, BurdenPayable), "burden_again": spent("burden", Rework, BurdenPayable),
	"burden_on_no_piece": shops("burden", IndirectLabour, BurdenPayable), "burden_as_overhead": shops("burden", OverheadSpent, BurdenPayable),
	"paid_break": shops("pay", IndirectLabour, WagesPayable), "clock_rounded": shops("pay", IndirectLabour, WagesPayable),
	"premium": spent("premium", Premium, WagesPayable), "premium_again": spent("premium", Rework, WagesPayable),
	"premium_on_no_piece": shops("premium", IndirectLabour, WagesPayable), "premium_as_overhead": shops("premium", OverheadSpent, WagesPayable),
	"overhead": spent("share", Overhead, OverheadApplied), "overhead_again": spent("share", Rework, OverheadApplied),
	"overhead_spent": {amounts: []string{"cost"}, accounts: map[Account]string{OverheadSpent: "cost"}},
	"month_closed": {amounts: []string{"applied", "actual", "indirect"},
		accounts: map[Account]string{OverheadApplied: "applied", OverheadSpent: "-actual", IndirectLabour: "-indirect"}},
	"material_bought": {amounts: []string{"cost"}, accounts: map[Account]string{MaterialsOnHand: "cost"}},
	"material_used":   spent("cost", Material, MaterialsOnHand), "material_used_again": spent("cost", Rework, MaterialsOnHand),
	"material_wasted":  {amounts: []string{"cost"}, accounts: map[Account]string{OverheadSpent: "cost", MaterialsOnHand: "-cost"}},
	"material_missing": {amounts: []string{"cost"}, accounts: map[Account]string{MaterialsOnHand: "-cost"}},
	"outside_work":     spent("bill", Outside, ""), "outside_work_again": spent("bill", Rework, ""),
	"sold":            {amounts: []string{"price", "tax", "fee"}, sheets: map[Bucket]string{Earned: "-price", Tax: "-tax", Fees: "fee"}},
	"stands_finished": stands(FinishedGoods), "stands_sold": stands(""), "stands_lost": stands(""),
}

// sought are the accounts that the books look for, and what each must be.
var sought = map[Account]ledger.Kind{WorkInProcess: ledger.Asset, Again: ledger.Asset, FinishedGoods: ledger.Asset, MaterialsOnHand: ledger.Asset,
	CashClearing: ledger.Asset, WagesPayable: ledger.Liability, BurdenPayable: ledger.Liability,
	OverheadApplied: ledger.Expense, OverheadSpent: ledger.Expense, IndirectLabour: ledger.Expense}

// meets refuses rules, by their names, with which the books would not find again what they booked.
func (r *Rules) meets() error {
	var all []error
	for _, account := range slices.Sorted(maps.Keys(sought)) {
		if got := r.Entry(account).Kind; !r.Has(account) || got != sought[account] {
			all = append(all, fmt.Errorf("account %q is missing or of another kind than %s", account, sought[account]))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(demands)) {
		rule, d := r.Rule(name), demands[name]
		switch {
		case rule == nil || !slices.Equal(rule.Amounts, d.amounts):
			all = append(all, fmt.Errorf("account rule %q is missing or does not take the amounts %v", name, d.amounts))
		default:
			all = append(all, d.met(rule))
		}
	}
	return errors.Join(all...)
}

// met refuses a rule that puts something else in a line of a cost sheet, or on an account that the
// books look for, than is demanded.
func (d demand) met(rule *ledger.Rule) error {
	for _, bucket := range buckets[1:] {
		got := sumOf(rule, func(l ledger.Line) bool { return l.Sheet == string(bucket) })
		if want := d.sheets[bucket]; got != want {
			return fmt.Errorf("account rule %q %s in line %q of the cost sheet; it counts %s there", rule.Name, must("count", want), bucket, cmp.Or(got, "nothing"))
		}
	}
	for _, account := range slices.Sorted(maps.Keys(sought)) {
		if account == CashClearing {
			continue // whoever pays, from whatever till
		}
		got := sumOf(rule, func(l ledger.Line) bool { return l.Account == account })
		if want := d.accounts[account]; got != want {
			return fmt.Errorf("account rule %q %s on account %s; it books %s there", rule.Name, must("book", want), account, cmp.Or(got, "nothing"))
		}
	}
	return nil
}

// must says in words what is demanded: an amount, on the debit side or on the credit side.
func must(do, want string) string {
	switch {
	case want == "":
		return "must not " + do + " anything"
	case strings.HasPrefix(want, "-"):
		return fmt.Sprintf("must %s %s as a credit", do, want[1:])
	}
	return fmt.Sprintf("must %s %s as a debit", do, want)
}

// sumOf writes what some lines of a rule come to, as a sum of its amounts; credits are taken away.
func sumOf(rule *ledger.Rule, of func(ledger.Line) bool) string {
	var text strings.Builder
	for place, amount := range rule.Amounts {
		amounts := make([]money.Amount, len(rule.Amounts))
		amounts[place] = 1
		var times money.Amount
		for _, l := range rule.Lines(amounts...) {
			if of(l) {
				times += l.Amount
			}
		}
		for ; times > 0; times-- {
			if text.Len() > 0 {
				text.WriteString(" + ")
			}
			text.WriteString(amount)
		}
		for ; times < 0; times++ {
			text.WriteString("-" + amount)
		}
	}
	return text.String()
}
