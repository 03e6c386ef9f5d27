package ledger

import (
	"cmp"
	"slices"

	"tackfree/pkg/money"
)

// Balance is what an account comes to; debits count positive, credits negative.
type Balance struct {
	Account Account
	Amount  money.Amount
}

// Row is a balance as a bookkeeper reads it: on one of two sides.
type Row struct {
	Entry
	Debit, Credit money.Amount
}

// Trial is a trial balance: each account that has a balance, in the chart's order.
type Trial struct {
	Rows          []Row
	Debit, Credit money.Amount // the sums; they are the same unless something is wrong
}

// Trial puts balances on their sides.
func (c *Chart) Trial(balances []Balance) Trial {
	t := Trial{}
	for _, b := range c.inOrder(balances) {
		row := Row{Entry: c.Entry(b.Account), Debit: max(b.Amount, 0), Credit: max(-b.Amount, 0)}
		t.Rows = append(t.Rows, row)
		t.Debit += row.Debit
		t.Credit += row.Credit
	}
	return t
}

// inOrder sorts balances as the chart does and leaves out what is nothing.
func (c *Chart) inOrder(balances []Balance) []Balance {
	out := slices.DeleteFunc(slices.Clone(balances), func(b Balance) bool { return b.Amount == 0 })
	slices.SortFunc(out, func(a, b Balance) int {
		return cmp.Or(cmp.Compare(c.Place(a.Account), c.Place(b.Account)), cmp.Compare(a.Account, b.Account))
	})
	return out
}

// Section is the accounts of one kind, each with the sign in which it is read: what is owned,
// owed, earned or spent counts positive.
type Section struct {
	Kind  Kind
	Lines []Balance
	Total money.Amount
}

// Earnings is a profit and loss: of the balances of a period.
type Earnings struct {
	Income, CostSold, Expense Section
	Gross                     money.Amount // income less the cost of what was sold
	Profit                    money.Amount // less expenses
}

// Earnings reads the balances of a period as its profit and loss.
func (c *Chart) Earnings(period []Balance) Earnings {
	e := Earnings{Income: c.section(period, Income), CostSold: c.section(period, CostSold), Expense: c.section(period, Expense)}
	e.Gross = e.Income.Total - e.CostSold.Total
	e.Profit = e.Gross - e.Expense.Total
	return e
}

// Position is a balance sheet: of all balances up to an instant. What was put in and what was
// earned since the beginning is one figure, for a shop's books here begin with nothing.
type Position struct {
	Assets, Liabilities Section
	Earned              money.Amount // all profit so far
}

// Position reads all balances up to an instant as a balance sheet: assets are liabilities and
// what was earned.
func (c *Chart) Position(all []Balance) Position {
	return Position{Assets: c.section(all, Asset), Liabilities: c.section(all, Liability), Earned: c.Earnings(all).Profit}
}

func (c *Chart) section(balances []Balance, kind Kind) Section {
	s := Section{Kind: kind}
	sign := money.Amount(1)
	if kind == Liability || kind == Income {
		sign = -1
	}
	for _, b := range c.inOrder(balances) {
		if c.Entry(b.Account).Kind == kind {
			s.Lines = append(s.Lines, Balance{b.Account, sign * b.Amount})
			s.Total += sign * b.Amount
		}
	}
	return s
}
