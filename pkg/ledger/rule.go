package ledger

import (
	"fmt"
	"slices"
	"strings"

	"tackfree/pkg/money"
)

// Line is one side of a transaction.
type Line struct {
	Account Account
	Sheet   string // the line of a cost sheet that it counts in; empty: none
	Amount  money.Amount
}

// Rule says how one kind of thing is booked.
type Rule struct {
	Name    string
	Says    string // in words
	Amounts []string
	Debits  []Wording // as they are written
	Credits []Wording
	lines   []ruleLine
}

// Wording is a line of a rule as it is written.
type Wording struct {
	Account Account
	Amount  string // a sum of the rule's amounts: price + tax - fee
	Sheet   string
}

// ruleLine is a line whose amount is a sum of the rule's amounts, each so many times.
type ruleLine struct {
	account Account
	sheet   string
	times   []money.Amount // by place among the rule's amounts; credits are below zero
}

type writtenRule struct {
	Says    string        `yaml:"says"`
	Amounts []string      `yaml:"amounts"`
	Debit   []writtenLine `yaml:"debit"`
	Credit  []writtenLine `yaml:"credit"`
}

type writtenLine struct {
	Account Account `yaml:"account"`
	Amount  string  `yaml:"amount"`
	Sheet   string  `yaml:"sheet"`
}

// worded are lines for whoever reads a rule.
func worded(lines []writtenLine) (out []Wording) {
	for _, l := range lines {
		out = append(out, Wording(l))
	}
	return out
}

// rule reads a rule and refuses one that does not balance.
func (c *Chart) rule(name string, w writtenRule) (*Rule, error) {
	r := &Rule{Name: name, Says: w.Says, Amounts: w.Amounts, Debits: worded(w.Debit), Credits: worded(w.Credit)}
	for _, side := range []struct {
		sign  money.Amount
		lines []writtenLine
	}{{1, w.Debit}, {-1, w.Credit}} {
		for _, line := range side.lines {
			read, err := c.line(r, line, side.sign)
			if err != nil {
				return r, err
			}
			r.lines = append(r.lines, read)
		}
	}
	return r, r.balanced()
}

func (c *Chart) line(r *Rule, w writtenLine, sign money.Amount) (l ruleLine, err error) {
	if _, known := c.at[w.Account]; !known {
		return l, fmt.Errorf("there is no account %q", w.Account)
	}
	l = ruleLine{account: w.Account, sheet: w.Sheet}
	l.times, err = r.sum(w.Amount, sign)
	return l, err
}

// sum reads "price + tax - fee": how often each amount of the rule counts.
func (r *Rule) sum(text string, sign money.Amount) ([]money.Amount, error) {
	times := make([]money.Amount, len(r.Amounts))
	words := strings.Fields(strings.NewReplacer("+", " + ", "-", " - ").Replace(text))
	term := sign
	for i, word := range words {
		switch place := slices.Index(r.Amounts, word); {
		case i%2 == 0 && place >= 0:
			times[place] += term
		case i%2 == 1 && word == "+":
			term = sign
		case i%2 == 1 && word == "-":
			term = -sign
		default:
			return nil, fmt.Errorf("%q is not a sum of its amounts: %s", text, strings.Join(r.Amounts, ", "))
		}
	}
	if len(words)%2 == 0 {
		return nil, fmt.Errorf("%q is not a sum of its amounts: %s", text, strings.Join(r.Amounts, ", "))
	}
	return times, nil
}

// balanced refuses a rule whose debits are not its credits, whatever the amounts.
func (r *Rule) balanced() error {
	if len(r.lines) == 0 {
		return fmt.Errorf("it books nothing")
	}
	for place, amount := range r.Amounts {
		var debits, credits money.Amount
		for _, l := range r.lines {
			debits += max(l.times[place], 0)
			credits -= min(l.times[place], 0)
		}
		if debits != credits {
			return fmt.Errorf("it does not balance: %s is debited %d times and credited %d times", amount, debits, credits)
		}
	}
	return nil
}

// Lines books amounts, in the order in which the rule names them; they may be below zero. More or
// fewer than it names is a mistake of the program, and panics.
func (r *Rule) Lines(amounts ...money.Amount) []Line {
	if len(amounts) != len(r.Amounts) {
		panic(fmt.Sprintf("account rule %q takes %v, not %d amounts", r.Name, r.Amounts, len(amounts)))
	}
	out := make([]Line, len(r.lines))
	for i, l := range r.lines {
		out[i] = Line{Account: l.account, Sheet: l.sheet}
		for place, times := range l.times {
			out[i].Amount += times * amounts[place]
		}
	}
	return out
}

// Accounts lists the accounts that the rule books on and the line of a cost sheet each counts in,
// for whoever has demands of them.
func (r *Rule) Accounts() []Line {
	out := make([]Line, len(r.lines))
	for i, l := range r.lines {
		out[i] = Line{Account: l.account, Sheet: l.sheet}
	}
	return out
}
