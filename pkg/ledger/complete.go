package ledger

// Complete takes rules that the chart lacks from another one, with the accounts on which they book and that it lacks too; these come
// last. A rule or an account of the chart's own stays as it is.
func (c *Chart) Complete(from *Chart, rules ...string) {
	for _, name := range rules {
		rule := from.Rule(name)
		if _, own := c.rules[name]; own || rule == nil {
			continue
		}
		for _, line := range rule.Accounts() {
			if !c.Has(line.Account) {
				c.at[line.Account] = len(c.Entries)
				c.Entries = append(c.Entries, from.Entry(line.Account))
			}
		}
		c.rules[name] = rule
	}
}
