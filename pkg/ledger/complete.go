package ledger

import (
	"fmt"
	"slices"
)

// Complete takes rules that the chart lacks from another one, with the accounts on which they book and that it lacks too; these come
// last. A rule or an account of the chart's own stays as it is: where it has an account of a name that is needed, but of another kind, the
// one that is added gets the name with the first number from 2 on that is free. It says which rules it took.
func (c *Chart) Complete(from *Chart, rules ...string) (taken []string) {
	names := map[Account]Account{}
	for _, name := range rules {
		rule := from.Rule(name)
		if _, own := c.rules[name]; own || rule == nil {
			continue
		}
		for _, line := range rule.Accounts() {
			if _, found := names[line.Account]; !found {
				names[line.Account] = c.adopt(from.Entry(line.Account))
			}
		}
		c.rules[name] = rule.on(names)
		taken = append(taken, name)
	}
	return taken
}

// adopt finds the account of a name and kind, or else adds it.
func (c *Chart) adopt(e Entry) Account {
	if c.Has(e.Name) && c.Entry(e.Name).Kind == e.Kind {
		return e.Name
	}
	name := e.Name
	for n := 2; c.Has(e.Name); n++ {
		e.Name = Account(fmt.Sprintf("%s_%d", name, n))
	}
	c.at[e.Name] = len(c.Entries)
	c.Entries = append(c.Entries, e)
	return e.Name
}

// on is the same rule on accounts of other names.
func (r *Rule) on(names map[Account]Account) *Rule {
	other := *r
	other.lines, other.Debits, other.Credits = slices.Clone(r.lines), slices.Clone(r.Debits), slices.Clone(r.Credits)
	for i := range other.lines {
		other.lines[i].account = names[other.lines[i].account]
	}
	for _, side := range [][]Wording{other.Debits, other.Credits} {
		for i := range side {
			side[i].Account = names[side[i].Account]
		}
	}
	return &other
}
