package report

import (
	"cmp"
	"fmt"
	"io"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Groups prints what the pieces come to by how they ended.
func Groups(w io.Writer, pieces []*costingv1.PieceCost, c money.Currency) error {
	groups := []struct {
		text string
		in   func(*costingv1.PieceCost) bool
	}{
		{"sold and invoiced", func(p *costingv1.PieceCost) bool { return p.State == costingv1.PieceCost_STATE_SOLD }},
		{"in hand", func(p *costingv1.PieceCost) bool { return !done(p) }},
		{"scrapped", func(p *costingv1.PieceCost) bool { return p.State == costingv1.PieceCost_STATE_SCRAPPED }},
	}
	t := &Table{Headings: []string{"pieces", " number", " hours", " cost", " profit", " profit per labour hour"}}
	for _, g := range groups {
		sum := sheet{}
		for _, p := range pieces {
			if g.in(p) {
				sum.add(p, c)
			}
		}
		profit := c.Format(sum.profit)
		if g.text == "in hand" {
			profit = none
		}
		t.Add(g.text, fmt.Sprint(sum.pieces), hours(sum.worked), c.Format(sum.cost), profit, sum.perHour(c))
	}
	return t.Print(w)
}

// Accounts prints the balances of the books.
func Accounts(w io.Writer, accounts []*costingv1.AccountBalance, c money.Currency) error {
	t := &Table{Headings: []string{"account", " debit", " credit"}}
	for _, a := range accounts {
		debit, credit := sides(a.Balance, c)
		t.Add(cmp.Or(a.Title, Kind(a.Account)), debit, credit)
	}
	return t.Print(w)
}

// sides puts a balance on the debit or the credit side.
func sides(m *moneyv1.Money, c money.Currency) (debit, credit string) {
	a, _ := wire.FromMoney(m, c.Digits)
	if a < 0 {
		return "", c.Format(-a)
	}
	return c.Format(a), ""
}

// Total prints the sums over all pieces, and what was spent on none of them. Pieces in hand
// count with what was spent on them, so the last line is what the books have left, not what
// was earned.
func Total(w io.Writer, shop *costingv1.GetShopCostResponse, c money.Currency) error {
	s := shop.GetTotal()
	t := &Table{Headings: []string{"all pieces", " hours", " amount"}}
	t.Add("revenue", "", Money(s.GetRevenue()))
	addCosts(t, s)
	t.Add("channel fees", "", Money(s.GetFees()))
	left, _ := wire.FromMoney(s.GetProfit(), c.Digits)
	left -= addOnNoPiece(t, shop, c)
	left -= addOverhead(t, shop, c)
	t.Add()
	t.Add("left, pieces in hand counted as spent", "", c.Format(left))
	t.Add("tax collected, owed", "", Money(s.GetTaxCollected()))
	return t.Print(w)
}

// addOnNoPiece adds what is spent on no piece and is no overhead, and says what it comes to. Of labour on none, closes
// may have taken some for overhead.
func addOnNoPiece(t *Table, shop *costingv1.GetShopCostResponse, c money.Currency) (all money.Amount) {
	labour := "labour on no piece"
	if settledOf(shop, c) != 0 {
		labour += ", not settled yet"
	}
	for _, o := range []struct{ account, title string }{{"indirect_labour", labour}, {"inventory_adjustments", "what counts found"}} {
		if spent := balanceOf(shop, o.account, c); spent != 0 {
			t.Add(o.title, "", c.Format(spent))
			all += spent
		}
	}
	return all
}

// addOverhead adds what was spent of overhead beyond what pieces carry in their costs, and says what it comes to. What
// was spent and what was carried are on their accounts only until a close has settled them: of the time before
// there is the difference alone. Between closes pieces may have carried more than is spent yet.
func addOverhead(t *Table, shop *costingv1.GetShopCostResponse, c money.Currency) money.Amount {
	settled, spent, carried := settledOf(shop, c), balanceOf(shop, "overhead_actual", c), balanceOf(shop, "overhead_applied", c)
	if settled == 0 && spent == 0 && carried == 0 {
		return 0
	}
	t.Add("overhead beside what pieces carry:")
	for _, part := range []struct {
		title  string
		amount money.Amount
	}{{"settled by closes of months", settled}, {"spent, not settled yet", spent}, {"less carried by pieces, not settled yet", carried}} {
		if part.amount != 0 {
			t.Add("  "+part.title, "", c.Format(part.amount))
		}
	}
	return settled + spent + carried
}

// settledOf is what is in cost of goods sold and is of no piece: what all pieces together cost stands in
// hand, is sold or is lost, and nowhere else.
func settledOf(shop *costingv1.GetShopCostResponse, c money.Currency) money.Amount {
	cost, _ := wire.FromMoney(shop.GetTotal().GetCost(), c.Digits)
	stands := -cost
	for _, account := range []string{"work_in_process", "rework", "finished_goods", "cost_of_goods_sold", "scrap_loss"} {
		stands += balanceOf(shop, account, c)
	}
	return stands
}

// balanceOf is the balance of an account, none if it has no lines.
func balanceOf(shop *costingv1.GetShopCostResponse, account string, c money.Currency) (balance money.Amount) {
	for _, a := range shop.GetAccounts() {
		if a.Account == account {
			balance, _ = wire.FromMoney(a.Balance, c.Digits)
		}
	}
	return balance
}

// addCosts adds the lines of what was spent; what channels keep is none of it.
func addCosts(t *Table, s *costingv1.CostSums) {
	t.Add("bought for", "", Money(s.GetAcquisition()))
	t.Add("labour", Hours(s.GetLabourTime()), Money(s.GetLabour()))
	t.Add("material", "", Money(s.GetMaterial()))
	for _, u := range unusual {
		if m := u.of(s); !zero(m) {
			t.Add(titles[u.name], "", Money(m))
		}
	}
	t.Add("rework", Hours(s.GetReworkTime()), Money(s.GetRework()))
}
