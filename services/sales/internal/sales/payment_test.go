package sales_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
)

// nickel is a shop that has no cents.
var nickel = sales.CashStep{Step: 5}

// Amounts in cash by the endings that Canada's government published for the end of the cent (budget.canada.ca, "Rounding", text
// version, 2012): 1 and 2 go down to 0, 3 and 4 up to 5, 6 and 7 down to 5, 8 and 9 up to 10, 0 and 5 stay; 4.92 becomes 4.90. The
// consumer office of Québec ("Phasing out the penny") has 5.98 as 6.00 and 5.97 as 5.95.
func TestCashStep_Round(t *testing.T) {
	for due, want := range map[money.Amount]money.Amount{1_00: 1_00, 1_01: 1_00, 1_02: 1_00, 1_03: 1_05, 1_04: 1_05, 1_05: 1_05, 1_06: 1_05, 1_07: 1_05, 1_08: 1_10, 1_09: 1_10,
		4_92: 4_90, 5_98: 6_00, 5_97: 5_95, 2: 0} {
		if got := nickel.Round(due); got != want {
			t.Errorf("Round(%d) = %d, want %d", due, got, want)
		}
	}
	for step, want := range map[money.Amount]money.Amount{0: 7_25, 1: 7_25, 10: 7_30, 50: 7_50, 100: 7_00} {
		if got := (sales.CashStep{Step: step}).Round(7_25); got != want {
			t.Errorf("7.25 by steps of %d = %d, want %d", step, got, want)
		}
	}
}

// onAccount sells a piece for 100.00 and a tax of 8.23, to be paid later.
func onAccount(t *testing.T) (sales.Listing, id.ID) {
	t.Helper()
	return soldBy(t, sales.PayTerms{OnAccount: true})
}

func soldBy(t *testing.T, terms sales.PayTerms) (sales.Listing, id.ID) {
	t.Helper()
	l := sales.New(piece)
	s, err := l.Sell(piece, sales.Sale{ID: id.New(), Amounts: sales.Amounts{Price: 100_00, Tax: 8_23}, PayTerms: terms, SoldAt: noon})
	must(t, err)
	return l, s.ID
}

func pay(l *sales.Listing, sale id.ID, by sales.Method, amount money.Amount) (sales.Payment, sales.Sale, error) {
	said := &amount
	if amount < 0 {
		said = nil
	}
	return l.Pay(sale, sales.Payment{ID: id.New(), Method: by, PaidAt: noon}, said, nickel, usd)
}

// What is paid of 108.23, in a shop that has no cents.
func TestListing_Pay(t *testing.T) {
	const all = -1
	for name, c := range map[string]struct {
		by                  sales.Method
		amount              money.Amount
		came, rounding, due money.Amount
	}{
		"APart": {"card", 40_00, 40_00, 0, 68_23}, "All": {"card", all, 108_23, 0, 0}, "AllAsSaid": {"transfer", 108_23, 108_23, 0, 0},
		"APartInCash": {sales.Cash, 40_01, 40_01, 0, 68_22}, "AllInCash": {sales.Cash, all, 108_25, 2, 0}, "TheRoundedInCash": {sales.Cash, 108_25, 108_25, 2, 0},
		"AllAsSaidInCash": {sales.Cash, 108_23, 108_25, 2, 0},
	} {
		t.Run(name, func(t *testing.T) {
			l, sale := onAccount(t)
			p, s, err := pay(&l, sale, c.by, c.amount)
			if err != nil || p.Amount != c.came || p.Rounding != c.rounding || s.Due() != c.due || s.Paid() != 108_23-c.due || l.Version != 2 {
				t.Errorf("Pay = %+v, %v, of which %d is due", p, err, s.Due())
			}
		})
	}
}

func TestListing_Pay_Refuses(t *testing.T) {
	l, sale := onAccount(t)
	_, _, early := l.Pay(sale, sales.Payment{ID: id.New(), PaidAt: noon.Add(-time.Minute)}, nil, nickel, usd)
	_, _, none := pay(&l, id.New(), "card", 1)
	_, _, more := pay(&l, sale, "card", 108_25) // no cash: it is not rounded
	_, _, zero := pay(&l, sale, "card", 0)
	_, _, err := pay(&l, sale, "card", -1)
	must(t, err)
	_, _, again := pay(&l, sale, "card", 1)
	for want, got := range map[string]error{"PAYMENT_BEFORE_SALE": early, "SALE_NOT_FOUND": none, "PAYMENT_ABOVE_DUE": more, "PAYMENT_ZERO": zero, "NOTHING_DUE": again} {
		if !fault.Is(got, want) {
			t.Errorf("%v, want %s", got, want)
		}
	}
	if f := fault.Of(more); f.Meta["due"] != "108.23" || l.Version != 2 {
		t.Errorf("more than is due is refused with %v, version %d", f.Meta, l.Version)
	}
}

// What was paid with a sale is a payment of it, and can be voided like any other.
func TestListing_VoidPayment(t *testing.T) {
	l, sale := soldBy(t, sales.PayTerms{Method: sales.Cash, Cash: nickel})
	if s := l.Sales[0]; s.Due() != 0 || s.CashRounding != 2 || len(s.AllPayments()) != 1 || s.AllPayments()[0].Amount != 108_25 {
		t.Fatalf("sold in cash it is %+v", s)
	}
	at := noon.Add(time.Hour)
	p, s, err := l.VoidPayment(sale, sale, "it was false", at)
	if err != nil || s.Due() != 108_23 || s.Paid() != 0 || !p.Voided() || len(s.AllPayments()) != 1 {
		t.Fatalf("VoidPayment = %+v, %v, due %d", p, err, s.Due())
	}
	paid, _, err := pay(&l, sale, "card", 8_23)
	must(t, err)
	_, _, twice := l.VoidPayment(sale, sale, "again", at)
	_, _, unknown := l.VoidPayment(sale, id.New(), "x", at)
	_, _, early := l.VoidPayment(sale, paid.ID, "x", noon.Add(-time.Minute))
	_, _, none := l.VoidPayment(id.New(), paid.ID, "x", at)
	for want, got := range map[string]error{"PAYMENT_VOIDED": twice, "PAYMENT_NOT_FOUND": unknown, "VOID_BEFORE_PAYMENT": early, "SALE_NOT_FOUND": none} {
		if !fault.Is(got, want) {
			t.Errorf("%v, want %s", got, want)
		}
	}
	if s := l.Sales[0]; s.Due() != 100_00 || l.Version != 3 {
		t.Errorf("after refusals %d is due, version %d", s.Due(), l.Version)
	}
}

func TestListing_Sell_PaidAndOnAccount(t *testing.T) {
	l := sales.New(piece)
	_, err := l.Sell(piece, sales.Sale{ID: id.New(), Amounts: sales.Amounts{Price: 1}, PayTerms: sales.PayTerms{OnAccount: true, Method: "card"}})
	if !fault.Is(err, "PAID_AND_ON_ACCOUNT") || len(l.Sales) != 0 {
		t.Errorf("Sell = %v", err)
	}
}

// What was given before is no part of what is paid with the sale or owed after it, and is not rounded.
func TestSale_WithDeposit(t *testing.T) {
	for name, c := range map[string]struct {
		terms         sales.PayTerms
		paid, due     money.Amount
		cash, deposit money.Amount
	}{
		"InCash":    {sales.PayTerms{Method: sales.Cash, Cash: nickel}, 58_23, 0, 58_25, 50_00},
		"OnAccount": {sales.PayTerms{OnAccount: true}, 0, 58_23, 0, 50_00},
		"AllBefore": {sales.PayTerms{Method: sales.Cash, Cash: nickel}, 0, 0, 0, 108_23},
	} {
		t.Run(name, func(t *testing.T) {
			l := sales.New(piece)
			s, err := l.Sell(piece, sales.Sale{ID: id.New(), Amounts: sales.Amounts{Price: 100_00, Tax: 8_23}, PayTerms: c.terms, SoldAt: noon, Deposit: c.deposit})
			must(t, err)
			var cash money.Amount
			for _, p := range s.AllPayments() {
				cash += p.Amount
			}
			if s.Paid() != c.paid || s.Due() != c.due || cash != c.cash {
				t.Errorf("%d is paid, %d came in, %d is due", s.Paid(), cash, s.Due())
			}
		})
	}
}

// A set that is paid in cash is rounded once, and its pieces' shares add up to that.
func TestSellSet_RoundsCashOnce(t *testing.T) {
	for price, want := range map[money.Amount]money.Amount{1_00: 0, 1_02: -2, 1_03: 2, 2: -2} {
		s := set(price, 0, 0)
		s.PayTerms = sales.PayTerms{Method: sales.Cash, Cash: nickel}
		members := []sales.Member{offered(t, 1, 20, "fair"), offered(t, 2, 10, "fair")}
		s, err := sales.SellSet(s, members, func(s string) string { return s })
		must(t, err)
		var sum money.Amount
		for i, p := range s.Parts {
			sum += p.Sale.CashRounding
			if kept := members[i].Listing.Sales[0].CashRounding; kept != p.Sale.CashRounding || p.Sale.Due() != 0 || p.Sale.AtOnce()+kept < 0 {
				t.Errorf("of %d piece %d has a rounding of %d, its listing of %d", price, p.Tag, p.Sale.CashRounding, kept)
			}
		}
		if sum != want {
			t.Errorf("%d is rounded by %d, want %d", price, sum, want)
		}
	}
}

// Whatever is paid, voided and given back: nothing due is below zero, price and tax are what was paid, what is due and what was
// lowered of it together, no more goes out than payments settled, and what went out of one that was none is owed. What came in is what
// was settled, but of cash to the nearest step of what settles the sale.
func TestSale_DueLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		terms := sales.PayTerms{OnAccount: rapid.Bool().Draw(t, "on account")}
		if !terms.OnAccount {
			terms.Method, terms.Cash = sales.Cash, nickel
		}
		whole := sales.Amounts{Price: money.Amount(rapid.Int64Range(1, 500).Draw(t, "price"))}
		whole.Tax = money.Amount(rapid.Int64Range(0, int64(whole.Price)).Draw(t, "tax"))
		l := sales.New(piece)
		sold, err := l.Sell(piece, sales.Sale{ID: id.New(), Amounts: whole, PayTerms: terms, SoldAt: noon})
		if err != nil {
			t.Fatal(err)
		}
		till := till{settled: map[id.ID]money.Amount{}}
		if !terms.OnAccount {
			till.takes(t, sold.AllPayments()[0], whole.Price+whole.Tax, 0)
		}
		for range rapid.IntRange(0, 8).Draw(t, "steps") {
			till.step(t, &l, sold.ID)
			s := l.Sales[0]
			if s.Due() < 0 || s.Paid() != till.stands() || s.Paid()+s.Due()+s.LoweredDue != whole.Price+whole.Tax || till.out > till.ever || s.Due() < till.out-s.Paid() {
				t.Fatalf("%d is due, %d paid, %d lowered; %+v of %+v", s.Due(), s.Paid(), s.LoweredDue, till, whole)
			}
		}
	})
}

// till is what came in and went out of one sale, counted beside it.
type till struct {
	settled   map[id.ID]money.Amount // by each payment that stands
	ever, out money.Amount           // settled by all, also by those that were voided; and what went out
}

func (c *till) stands() (sum money.Amount) {
	for _, settled := range c.settled {
		sum += settled
	}
	return sum
}

// takes counts a payment by which a due went down, and checks what came in for that.
func (c *till) takes(t *rapid.T, p sales.Payment, before, after money.Amount) {
	settled := before - after
	c.settled[p.ID], c.ever = settled, c.ever+settled
	switch off := p.Amount - settled; {
	case after > 0 && off != 0, p.Rounding != off, off < -2, off > 2, after == 0 && p.Amount%nickel.Step != 0:
		t.Fatalf("%d came in for %d of %d that were due, with a rounding of %d", p.Amount, settled, before, p.Rounding)
	}
}

// step does something at random to the sale.
func (c *till) step(t *rapid.T, l *sales.Listing, sale id.ID) {
	before, amount := l.Sales[0].Due(), money.Amount(rapid.Int64Range(0, 600).Draw(t, "amount"))
	switch rapid.IntRange(0, 3).Draw(t, "what") {
	case 0:
		if p, s, err := pay(l, sale, sales.Cash, amount); err == nil {
			c.takes(t, p, before, s.Due())
		}
	case 1:
		if p, s, err := pay(l, sale, sales.Cash, -1); err == nil { // all that is due
			c.takes(t, p, before, s.Due())
		}
	case 2:
		r := sales.Refund{ID: id.New(), Sale: sale, Amounts: sales.Amounts{Price: amount}, RefundedAt: noon}
		r.LoweredDue = l.Lowers(r)
		if _, err := l.Refund(r, usd); err == nil {
			c.out += amount - r.LoweredDue
		}
	case 3:
		c.void(t, l, sale, before)
	}
}

// void voids one of the payments, if there is any: what it had settled is due again, and it is voided once.
func (c *till) void(t *rapid.T, l *sales.Listing, sale id.ID, before money.Amount) {
	all := l.Sales[0].AllPayments()
	if len(all) == 0 {
		return
	}
	p := rapid.SampledFrom(all).Draw(t, "payment")
	_, s, err := l.VoidPayment(sale, p.ID, "it was none", noon)
	if p.Voided() != (err != nil) || s.Due()-before != c.settled[p.ID] {
		t.Fatalf("VoidPayment(%+v) = %v; %d was due, and %d is", p, err, before, s.Due())
	}
	delete(c.settled, p.ID)
}
