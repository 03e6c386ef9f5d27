package costing_test

import (
	"maps"
	"testing"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// balances adds up what a book has on each account, without those that come to nothing.
func balances(b *costing.Book) map[costing.Account]money.Amount {
	sums := map[costing.Account]money.Amount{}
	for _, t := range b.Transactions {
		for _, l := range t.Lines {
			sums[l.Account] += l.Amount
		}
	}
	maps.DeleteFunc(sums, func(_ costing.Account, a money.Amount) bool { return a == 0 })
	return sums
}

// What is sold on account is owed until it is paid, what goes back of it lowers that first, and a cent that cash is rounded by is
// neither earned nor taxed.
func TestBook_SalesOnAccount(t *testing.T) {
	piece := id.New()
	type sums = map[costing.Account]money.Amount
	sold := func(b *costing.Book) {
		b.Sell(fact(piece), 100_00, 8_25, 5_00)
		b.PayLater(fact(piece), 108_25)
	}
	for name, c := range map[string]struct {
		does func(*costing.Book)
		want sums
	}{
		"Owed": {func(*costing.Book) {}, sums{"accounts_receivable": 108_25, "cash_clearing": -5_00}},
		"PaidInPart": {func(b *costing.Book) { b.TakePayment(fact(piece), 40_00, 0) },
			sums{"accounts_receivable": 68_25, "cash_clearing": 35_00}},
		"PaidInCash": {func(b *costing.Book) { b.TakePayment(fact(piece), 108_23, 2) },
			sums{"accounts_receivable": 2, "cash_clearing": 103_25, "cash_rounding": -2}},
		"Bounced": {func(b *costing.Book) {
			b.TakePayment(fact(piece), 108_23, 2)
			b.TakePayment(fact(piece), -108_23, -2)
		}, sums{"accounts_receivable": 108_25, "cash_clearing": -5_00}},
		"BackInPart": {func(b *costing.Book) {
			b.TakePayment(fact(piece), 40_00, 0)
			b.Refund(fact(piece), 75_00, 0, 0, false)
			b.PayLater(fact(piece), -68_25)
		}, sums{"cash_clearing": 40_00 - 6_75 - 5_00, "revenue": -25_00}},
	} {
		t.Run(name, func(t *testing.T) {
			b := costing.NewBook(costing.Standard())
			sold(b)
			c.does(b)
			if err := b.Check(); err != nil {
				t.Fatal(err)
			}
			want := sums{"revenue": -100_00, "tax_payable": -8_25, "channel_fees": 5_00}
			maps.Copy(want, c.want)
			if got := balances(b); !maps.Equal(got, want) {
				t.Errorf("the accounts are %v, want %v", got, want)
			}
		})
	}
}

// A sale in cash that was rounded down is one transaction, and says so.
func TestBook_CashIsRoundedInTheSale(t *testing.T) {
	b := costing.NewBook(costing.Standard())
	f := fact(id.New())
	b.Sell(f, 100_00, 8_27, 0)
	b.RoundCash(f, -2)
	if got := balances(b); len(b.Transactions) != 1 || !maps.Equal(got, map[costing.Account]money.Amount{"cash_clearing": 108_25, "revenue": -100_00, "tax_payable": -8_27, "cash_rounding": 2}) {
		t.Errorf("%d transactions, accounts %v", len(b.Transactions), got)
	}
}
