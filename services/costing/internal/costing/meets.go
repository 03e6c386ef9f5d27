package costing

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// meets refuses rules, by their names, with which the books would not find again what they booked, or
// by which a statement would show it as what it is not.
func (r *Rules) meets() error {
	var all []error
	for _, account := range slices.Sorted(maps.Keys(sought)) {
		if got := r.Entry(account).Kind; r.seeks(account) && (!r.Has(account) || got != sought[account]) {
			all = append(all, fmt.Errorf("account %q is missing or of another kind than %s", account, sought[account]))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(demands)) {
		rule, d := r.Rule(name), demands[name]
		switch {
		case slices.Contains(r.taken, name): // it is the program's
		case rule == nil || !slices.Equal(rule.Amounts, d.amounts):
			all = append(all, fmt.Errorf("account rule %q is missing or does not take these amounts: %s", name, strings.Join(d.amounts, ", ")))
		default:
			all = append(all, r.met(rule, d))
		}
	}
	return errors.Join(all...)
}

// met refuses a rule that does not do what is demanded of it.
func (r *Rules) met(rule *ledger.Rule, d demand) error {
	for _, check := range []func(*ledger.Rule, demand) error{r.metSheets, r.metHomes, r.metAccounts, r.metKinds} {
		if err := check(rule, d); err != nil {
			return fmt.Errorf("account rule %q %w", rule.Name, err)
		}
	}
	return nil
}

// metSheets refuses something else in a line of a cost sheet than is demanded.
func (r *Rules) metSheets(rule *ledger.Rule, d demand) error {
	for _, bucket := range buckets[1:] {
		got := sumOf(rule, func(l ledger.Line) bool { return l.Sheet == string(bucket) })
		if want := d.sheets[bucket]; got != want {
			return fmt.Errorf("%s in line %q of the cost sheet; it counts %s there", must("count", want), bucket, sided(got))
		}
	}
	return nil
}

// metHomes refuses a cost that stands elsewhere than on the account from which it moves on with its piece.
func (r *Rules) metHomes(rule *ledger.Rule, _ demand) error {
	for _, l := range rule.Accounts() {
		if home := homeOf(Bucket(l.Sheet)); home != "" && l.Account != home {
			return fmt.Errorf("counts in line %q of the cost sheet what it books on account %s; that line must be on account %s, from which the cost moves on when the piece is finished, sold or given up",
				l.Sheet, l.Account, home)
		}
	}
	return nil
}

// metAccounts refuses something else on an account that the books look for than is demanded.
func (r *Rules) metAccounts(rule *ledger.Rule, d demand) error {
	for _, account := range slices.Sorted(maps.Keys(sought)) {
		if !d.looksFor(account) {
			continue
		}
		got := sumOf(rule, func(l ledger.Line) bool { return l.Account == account })
		if want := d.accounts[account]; got != want {
			return fmt.Errorf("%s on account %s; it books %s there", must("book", want), account, sided(got))
		}
	}
	return nil
}

// metKinds refuses something else on the other accounts of a kind than is demanded. What is owned is
// looked at last: it is what is left, and says the least of what is wrong.
func (r *Rules) metKinds(rule *ledger.Rule, d demand) error {
	all := slices.Clone(d.others)
	for _, kind := range []ledger.Kind{ledger.Income, ledger.CostSold, ledger.Expense, ledger.Liability, ledger.Asset} {
		if !slices.ContainsFunc(all, func(o others) bool { return slices.Contains(o.kinds, kind) }) {
			all = append(all, on("", kind))
		}
	}
	for _, o := range all {
		got := sumOf(rule, func(l ledger.Line) bool {
			return !d.looksFor(l.Account) && slices.Contains(o.kinds, r.Entry(l.Account).Kind)
		})
		if got != o.amount {
			return fmt.Errorf("%s on %s; it books %s there", must("book", o.amount), d.word(o.kinds), sided(got))
		}
	}
	return nil
}

// seeks reports whether the books look for an account by what they demand of the file's own rules. The till is looked for always.
func (r *Rules) seeks(account Account) bool {
	for name, d := range demands {
		if _, named := d.accounts[account]; named && !slices.Contains(r.taken, name) {
			return true
		}
	}
	return account == CashClearing
}

// looksFor reports whether the books find an account by its name. Whoever pays does it from whatever till. What buyers owe is looked
// for only where it is demanded: the books had no such account at first, and a file of then may have one of its own by that name.
func (d demand) looksFor(account Account) bool {
	_, yes := sought[account]
	_, named := d.accounts[account]
	return yes && account != CashClearing && (named || account != Receivable)
}

// word names accounts of some kinds, beside those that the demand itself names.
func (d demand) word(kinds []ledger.Kind) string {
	words := make([]string, len(kinds))
	which := "an account"
	for i, kind := range kinds {
		words[i] = string(kind)
		for account := range d.accounts {
			if sought[account] == kind {
				which = "another account"
			}
		}
	}
	return which + " of kind " + strings.Join(words, " or ")
}

// must says in words what is demanded.
func must(do, want string) string {
	if want == "" {
		return "must not " + do + " anything"
	}
	return "must " + do + " " + sided(want)
}

// sided says in words what is booked: a sum of amounts, on the debit side or on the credit side.
func sided(sum string) string {
	switch {
	case sum == "":
		return "nothing"
	case strings.HasPrefix(sum, "-"):
		return strings.ReplaceAll(sum[1:], " - ", " + ") + " as a credit"
	}
	return sum + " as a debit"
}

// sumOf writes what some lines of a rule come to, as a sum of its amounts; credits are taken away, and
// come last.
func sumOf(rule *ledger.Rule, of func(ledger.Line) bool) string {
	var debits, credits []string
	for place, amount := range rule.Amounts {
		switch times := timesOf(rule, place, of); {
		case times > 0:
			debits = append(debits, slices.Repeat([]string{amount}, int(times))...)
		case times < 0:
			credits = append(credits, slices.Repeat([]string{amount}, int(-times))...)
		}
	}
	text := strings.Join(debits, " + ")
	switch {
	case len(credits) == 0:
		return text
	case text == "":
		return "-" + strings.Join(credits, " - ")
	}
	return text + " - " + strings.Join(credits, " - ")
}

// timesOf counts how often an amount of a rule is on some of its lines.
func timesOf(rule *ledger.Rule, place int, of func(ledger.Line) bool) (times money.Amount) {
	amounts := make([]money.Amount, len(rule.Amounts))
	amounts[place] = 1
	for _, l := range rule.Lines(amounts...) {
		if of(l) {
			times += l.Amount
		}
	}
	return times
}
