package ledger_test

import (
	"testing"

	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// A name that the chart has for an account of another kind is not taken away: what is added gets the first free one with a number, on
// both sides of every rule that is taken, in what it books and in how it is written. The chart from which they are stays as it is.
func TestChart_Complete_NameOfAnotherKind(t *testing.T) {
	c, err := ledger.Parse([]byte(`
accounts:
  - {name: cash, title: Till, kind: asset}
  - {name: overhead, title: Overhead that others pay, kind: income}
  - {name: overhead_2, title: More of it, kind: expense}
rules:
  given: {amounts: [cost], debit: [{account: cash, amount: cost}], credit: [{account: overhead, amount: cost}]}
`))
	if err != nil {
		t.Fatal(err)
	}
	from := chart(t)
	c.Complete(from, "incurred", "job")
	for account, want := range map[ledger.Account]ledger.Kind{"overhead": ledger.Income, "overhead_2": ledger.Expense, "overhead_3": ledger.Expense} {
		if got := c.Entry(account); !c.Has(account) || got.Kind != want {
			t.Errorf("%s = %+v, want of kind %s", account, got, want)
		}
	}
	if got := c.Entry("overhead_3"); got.Title != "Manufacturing overhead" || c.Place("overhead_3") != 3 {
		t.Errorf("it is added as %+v, in place %d", got, c.Place("overhead_3"))
	}
	b := books{}
	b.post(c, "incurred", 7)
	b.post(c, "job", 1, 2, 4)
	for account, want := range map[ledger.Account]money.Amount{"overhead": 0, "overhead_2": 0, "overhead_3": 7 - 4, "cash": -7} {
		if b[account] != want {
			t.Errorf("%s = %d, want %d", account, b[account], want)
		}
	}
	if debit, credit := c.Rule("incurred").Debits[0].Account, c.Rule("job").Credits[2].Account; debit != "overhead_3" || credit != "overhead_3" {
		t.Errorf("they are written with %s and %s", debit, credit)
	}
	if from.Rule("incurred").Debits[0].Account != "overhead" || from.Rule("incurred").Lines(1)[0].Account != "overhead" {
		t.Errorf("the rule of the other chart is %+v now", from.Rule("incurred"))
	}
}
