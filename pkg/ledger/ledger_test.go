package ledger_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// shop is the accounts of the sign maker in OpenStax, Principles of Accounting, Volume 2:
// Managerial Accounting, chapter 4 (CC BY-NC-SA 4.0).
const shop = `
accounts:
  - {name: cash, title: Cash, kind: asset}
  - {name: material, title: Raw materials, kind: asset}
  - {name: process, number: "1300", title: Work in process, kind: asset}
  - {name: finished, title: Finished goods, kind: asset}
  - {name: wages, title: Wages payable, kind: liability}
  - {name: sales, title: Sales, kind: income}
  - {name: sold, title: Cost of goods sold, kind: cost of sales}
  - {name: overhead, title: Manufacturing overhead, kind: expense}
rules:
  bought: {says: Material is bought., amounts: [cost], debit: [{account: material, amount: cost}], credit: [{account: cash, amount: cost}]}
  job:
    says: A job takes material and labour and bears overhead.
    amounts: [material, labour, overhead]
    debit: [{account: process, amount: material + labour + overhead, sheet: job}]
    credit: [{account: material, amount: material}, {account: wages, amount: labour}, {account: overhead, amount: overhead}]
  finished: {amounts: [cost], debit: [{account: finished, amount: cost}], credit: [{account: process, amount: cost}]}
  sold:
    amounts: [price, cost]
    debit: [{account: cash, amount: price}, {account: sold, amount: cost}]
    credit: [{account: sales, amount: price}, {account: finished, amount: cost}]
  incurred: {amounts: [cost], debit: [{account: overhead, amount: cost}], credit: [{account: cash, amount: cost}]}
`

func chart(t *testing.T) *ledger.Chart {
	t.Helper()
	c, err := ledger.Parse([]byte(shop))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// books adds lines up by account.
type books map[ledger.Account]money.Amount

func (b books) post(c *ledger.Chart, rule string, amounts ...money.Amount) {
	for _, l := range c.Rule(rule).Lines(amounts...) {
		b[l.Account] += l.Amount
	}
}

func (b books) balances() (all []ledger.Balance) {
	for account, amount := range b {
		all = append(all, ledger.Balance{Account: account, Amount: amount})
	}
	return all
}

// The sign maker's month (ibid., sections 4.5 and 4.7), whole units: material 2,500 + 10,500;
// a job of 1,531 finished before and sold for 3,500, one of 1,000 begun before; three jobs take
// material 200, 700 and 500, labour 150, 66 and 150 and overhead of 2.5 times the labour. The second
// is sold for 2,000. What is left: cost of goods sold 2,462, finished 1,725, in process 1,025,
// material 11,600.
func TestChart_TheSignMakersMonth(t *testing.T) {
	c, b := chart(t), books{}
	b.post(c, "bought", 2_500+10_500)
	b.post(c, "job", 0, 0, 1_531+1_000) // what was in the books before, its parts are not told
	b.post(c, "finished", 1_531)
	b.post(c, "job", 200, 150, 375)
	b.post(c, "job", 700, 66, 165)
	b.post(c, "job", 500, 150, 375)
	b.post(c, "finished", 1_000+200+150+375)
	b.post(c, "finished", 700+66+165)
	b.post(c, "sold", 3_500, 1_531)
	b.post(c, "sold", 2_000, 931)
	left := books{"sold": 2_462, "finished": 1_725, "process": 1_025, "material": 11_600, "wages": -366, "sales": -5_500}
	for account, want := range left {
		if b[account] != want {
			t.Errorf("%s = %d, want %d", account, b[account], want)
		}
	}
	e := c.Earnings(b.balances())
	if e.Gross != 5_500-2_462 {
		t.Errorf("gross profit = %d, want %d", e.Gross, 5_500-2_462)
	}
}

// Overhead of 256,500 was incurred and 250,000 applied: 6,500 too little; of 248,000, 2,000 too
// much (ibid., section 4.6). The winch maker incurred 209,250 and applied 33.50 for each of 6,240
// hours, 209,040: 210 too little.
func TestChart_OverheadOverAndUnder(t *testing.T) {
	for _, c := range []struct{ incurred, applied, under money.Amount }{{256_500, 250_000, 6_500}, {248_000, 250_000, -2_000}, {209_250, 6_240 * 335 / 10, 210}} {
		chart, b := chart(t), books{}
		b.post(chart, "incurred", c.incurred)
		b.post(chart, "job", 0, 0, c.applied)
		if b["overhead"] != c.under {
			t.Errorf("incurred %d, applied %d: %d under, want %d", c.incurred, c.applied, b["overhead"], c.under)
		}
	}
}

// Whatever is booked: the trial balance has both sides alike, and what is owned is what is owed
// and what was earned.
func TestChart_StatementsAgree(t *testing.T) {
	c := chart(t)
	rapid.Check(t, func(t *rapid.T) {
		b := books{}
		for range rapid.IntRange(0, 20).Draw(t, "transactions") {
			rule := c.Rule(rapid.SampledFrom(c.Rules()).Draw(t, "rule"))
			amounts := make([]money.Amount, len(rule.Amounts))
			for i := range amounts {
				amounts[i] = money.Amount(rapid.Int64Range(-1_000_000, 1_000_000).Draw(t, "amount"))
			}
			b.post(c, rule.Name, amounts...)
		}
		trial := c.Trial(b.balances())
		if trial.Debit != trial.Credit {
			t.Fatalf("debits %d, credits %d", trial.Debit, trial.Credit)
		}
		for i, row := range trial.Rows {
			if row.Debit < 0 || row.Credit < 0 || row.Debit*row.Credit != 0 || i > 0 && c.Place(row.Name) <= c.Place(trial.Rows[i-1].Name) {
				t.Fatalf("rows = %+v", trial.Rows)
			}
		}
		p := c.Position(b.balances())
		if p.Assets.Total != p.Liabilities.Total+p.Earned {
			t.Fatalf("owned %d, owed %d and earned %d", p.Assets.Total, p.Liabilities.Total, p.Earned)
		}
	})
}

// An account that the chart lost is shown, last, rather than forgotten.
func TestChart_AnAccountOfLongAgo(t *testing.T) {
	c := chart(t)
	got := c.Trial([]ledger.Balance{{Account: "goodwill", Amount: 5}, {Account: "cash", Amount: -5}, {Account: "wages"}})
	if len(got.Rows) != 2 || got.Rows[0].Title != "Cash" || got.Rows[0].Credit != 5 || got.Rows[1].Title != "goodwill" || got.Rows[1].Debit != 5 {
		t.Errorf("Trial = %+v", got)
	}
}

func TestParse_Refuses(t *testing.T) {
	for want, change := range map[string][2]string{
		`rule "incurred": it does not balance: cost is debited 1 times and credited 2 times`: {"credit: [{account: cash, amount: cost}]}\n", "X"},
		`rule "bought": there is no account "stock"`:                                         {"debit: [{account: material, amount: cost}]", "debit: [{account: stock, amount: cost}]"},
		`account "cash" is there twice`:                                                      {"{name: material,", "{name: cash,"},
		`account "sales" is of kind ""; the kinds are asset`:                                 {"title: Sales, kind: income", "title: Sales"},
		`"labour *2" is not a sum of its amounts: material, labour, overhead`:                {"amount: labour}", "amount: labour *2}"},
		`"" is not a sum`:                         {"{account: wages, amount: labour}", "{account: wages}"},
		`"material +" is not a sum`:               {"amount: material}", "amount: material +}"},
		`rule "finished": it books nothing`:       {"  finished: {amounts: [cost], debit: [{account: finished, amount: cost}], credit: [{account: process, amount: cost}]}", "  finished: {amounts: [cost]}"},
		"cannot be read":                          {"rules:", "rule:"},
		`rule "sold": it does not balance: price`: {"{account: sold, amount: cost}]", "{account: sold, amount: cost - price}]"},
	} {
		text := strings.Replace(shop, change[0], change[1], 1)
		if change[1] == "X" {
			i := strings.LastIndex(shop, "credit: [{account: cash, amount: cost}]}")
			text = shop[:i] + "credit: [{account: cash, amount: cost + cost}]}\n"
		}
		if _, err := ledger.Parse([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Parse = %v, want an error that says %s", err, want)
		}
	}
}

// What a chart lacks is taken from another, with its accounts, which come last; what it has stays its own.
func TestChart_Complete(t *testing.T) {
	c, err := ledger.Parse([]byte(`
accounts: [{name: cash, title: Till, kind: asset}, {name: gifts, title: Gifts, kind: income}]
rules:
  given: {amounts: [cost], debit: [{account: cash, amount: cost}], credit: [{account: gifts, amount: cost}]}
  bought: {says: Our own., amounts: [cost], debit: [{account: gifts, amount: cost}], credit: [{account: cash, amount: cost}]}
`))
	if err != nil {
		t.Fatal(err)
	}
	if taken := c.Complete(chart(t), "bought", "incurred", "no such rule"); len(taken) != 1 || taken[0] != "incurred" {
		t.Errorf("it took %q", taken)
	}
	if c.Rule("bought").Says != "Our own." || c.Rule("job") != nil || c.Rule("no such rule") != nil || c.Entry("cash").Title != "Till" {
		t.Errorf("what it had is %+v, of %+v", c.Rule("bought"), c.Entries)
	}
	if got := c.Rule("incurred").Lines(7); len(got) != 2 || !c.Has("overhead") || c.Place("overhead") != 2 || c.Has("material") {
		t.Errorf("what it lacked is %+v, on %+v", got, c.Entries)
	}
}
