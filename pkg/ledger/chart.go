package ledger

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"go.yaml.in/yaml/v3"
)

// Account is the name of an account.
type Account string

// Kind is the side of a statement on which an account stands.
type Kind string

// The kinds of account. Assets and what is spent grow by debits, the others by credits.
const (
	Asset     Kind = "asset"
	Liability Kind = "liability"
	Income    Kind = "income"
	CostSold  Kind = "cost of sales"
	Expense   Kind = "expense"
)

var kinds = []Kind{Asset, Liability, Income, CostSold, Expense}

const kindWords = "asset, liability, income, cost of sales and expense"

// Entry is an account of a chart.
type Entry struct {
	Name   Account `yaml:"name"`
	Number string  `yaml:"number"` // as a bookkeeper files it; it may be left out
	Title  string  `yaml:"title"`
	Kind   Kind    `yaml:"kind"`
}

// Chart is the accounts of a business, in their order, and the rules by which it books.
type Chart struct {
	Entries []Entry
	at      map[Account]int
	rules   map[string]*Rule
}

// written is a chart as it is written.
type written struct {
	Accounts []Entry                `yaml:"accounts"`
	Rules    map[string]writtenRule `yaml:"rules"`
}

// Parse reads a chart. Its errors name the account or the rule that is wrong, all at once.
func Parse(text []byte) (*Chart, error) {
	var w written
	d := yaml.NewDecoder(bytes.NewReader(text))
	d.KnownFields(true)
	if err := d.Decode(&w); err != nil {
		return nil, fmt.Errorf("the account rules cannot be read: %w", err)
	}
	c := &Chart{Entries: w.Accounts, at: map[Account]int{}, rules: map[string]*Rule{}}
	all := c.index()
	for name, rule := range w.Rules {
		r, err := c.rule(name, rule)
		if err != nil {
			all = append(all, fmt.Errorf("account rule %q: %w", name, err))
		}
		c.rules[name] = r
	}
	return c, errors.Join(sorted(all)...)
}

// index notes where each account is.
func (c *Chart) index() (all []error) {
	for i, e := range c.Entries {
		if _, twice := c.at[e.Name]; twice {
			all = append(all, fmt.Errorf("account %q is there twice", e.Name))
		}
		switch {
		case e.Name == "":
			all = append(all, fmt.Errorf("account number %d of the chart has no name", i+1))
		case e.Title == "":
			all = append(all, fmt.Errorf("account %q has no title", e.Name))
		case !slices.Contains(kinds, e.Kind):
			all = append(all, fmt.Errorf("account %q is of kind %q; the kinds are %s", e.Name, e.Kind, kindWords))
		}
		c.at[e.Name] = i
	}
	return all
}

// sorted puts errors in one order always.
func sorted(all []error) []error {
	slices.SortFunc(all, func(a, b error) int { return bytes.Compare([]byte(a.Error()), []byte(b.Error())) })
	return all
}

// Entry finds an account; of one that the chart does not have it makes up an expense, so that a
// balance of long ago is shown rather than lost.
func (c *Chart) Entry(a Account) Entry {
	if i, ok := c.at[a]; ok {
		return c.Entries[i]
	}
	return Entry{Name: a, Title: string(a), Kind: Expense}
}

// Has reports whether the chart has an account.
func (c *Chart) Has(a Account) bool {
	_, ok := c.at[a]
	return ok
}

// Place is where an account stands in the chart; one it does not have comes last.
func (c *Chart) Place(a Account) int {
	if i, ok := c.at[a]; ok {
		return i
	}
	return len(c.Entries)
}

// Rule finds a rule; nil if there is none of that name.
func (c *Chart) Rule(name string) *Rule { return c.rules[name] }

// Rules lists the names of all rules, in order.
func (c *Chart) Rules() []string {
	names := make([]string, 0, len(c.rules))
	for name := range c.rules {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}
