package costing_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

var usd = money.Currency{Code: "USD", Digits: 2}

func fact(piece id.ID) costing.Fact {
	return costing.Fact{ID: id.New(), Piece: piece, OccurredAt: monday, RecordedAt: monday}
}

// balance adds up the lines of an account.
func balance(b *costing.Book, a costing.Account) (sum money.Amount) {
	for _, t := range b.Transactions {
		for _, l := range t.Lines {
			if l.Account == a {
				sum += l.Amount
			}
		}
	}
	return sum
}

// The month of a sign maker, OpenStax, Principles of Accounting, Volume 2: Managerial
// Accounting, sections 4.4 and 4.5 (CC BY-NC-SA 4.0), without its overhead: material
// opening 2,500 and bought 10,500; used 200, 700 and 500 on three jobs, leaving 11,600;
// direct labour 150, 66 and 150; so prime cost 350, 766 and 650. The second job sells
// for 2,000.
func TestBook_TextbookJobs(t *testing.T) {
	b := costing.NewBook()
	rates := costing.NewRates([]costing.Rate{rate(100, monday, monday)}) // 1.00 an hour: a dollar is an hour
	b.Receive(fact(id.Nil), 250_000)
	b.Receive(fact(id.Nil), 1_050_000)
	jobs := []struct{ material, labour, prime money.Amount }{{20_000, 15_000, 35_000}, {70_000, 6_600, 76_600}, {50_000, 15_000, 65_000}}
	pieces := make([]id.ID, len(jobs))
	for i, job := range jobs {
		pieces[i] = id.New()
		b.Issue(fact(pieces[i]), job.material, "paint_coat", false)
		s := costing.Stretch{Fact: fact(pieces[i]), Sign: 1, Entry: id.New(), Person: nell, Start: monday, End: monday.Add(time.Duration(job.labour/100) * time.Hour)}
		b.Work(s, rates)
	}
	b.Sell(fact(pieces[1]), 200_000, 0, 0)

	for i, job := range jobs {
		if got := b.Of(pieces[i]).Cost(); got != job.prime {
			t.Errorf("job %d cost %d, want %d", i, got, job.prime)
		}
	}
	if got := balance(b, costing.MaterialsOnHand); got != 1_160_000 {
		t.Errorf("material left = %d, want 1160000", got)
	}
	if got := balance(b, costing.WagesPayable); got != -36_600 {
		t.Errorf("wages payable = %d, want -36600", got)
	}
	if got := b.Of(pieces[1]).Profit(); got != 200_000-76_600 {
		t.Errorf("profit of the sold job = %d, want 123400", got)
	}
	if err := b.Check(); err != nil {
		t.Error(err)
	}
}

func TestBook_SaleAndRefund(t *testing.T) {
	b, piece := costing.NewBook(), id.New()
	b.TakeIn(fact(piece), 4_550)
	b.Sell(fact(piece), 30_000, 2_475, 3_000)
	c := b.Of(piece)
	if c.Revenue != 30_000 || c.Tax != 2_475 || c.Fees != 3_000 || c.Profit() != 30_000-3_000-4_550 {
		t.Errorf("sums = %+v", c.Sums)
	}
	if got := balance(b, costing.CashClearing); got != -4_550+30_000+2_475-3_000 {
		t.Errorf("cash = %d", got)
	}
	b.Refund(fact(piece), 30_000, 2_475, 3_000, true)
	if c.Revenue != 0 || c.Tax != 0 || c.Fees != 0 || c.Profit() != -4_550 {
		t.Errorf("sums after the refund = %+v", c.Sums)
	}
	if len(b.Marks) != 2 || b.Marks[1].Kind != costing.MarkReturned {
		t.Errorf("marks = %+v", b.Marks)
	}
}

func TestSums_PerLabourHour(t *testing.T) {
	s := costing.Sums{Revenue: 30_000, Fees: 3_000, Acquisition: 4_550, Labour: 5_400, Rework: 900, Material: 1_250,
		LabourTime: 3 * time.Hour, ReworkTime: 30 * time.Minute}
	// 300.00 − 30.00 − 121.00 = 149.00 over 3.5 hours is 42.571…
	if got, ok := s.PerLabourHour(); !ok || got != 4_257 {
		t.Errorf("PerLabourHour = %d, %v, want 4257", got, ok)
	}
	for _, worked := range []time.Duration{0, 59 * time.Second} {
		if _, ok := (costing.Sums{Revenue: 1, LabourTime: worked}).PerLabourHour(); ok {
			t.Errorf("a piece with %v of labour has a profit per hour", worked)
		}
	}
}

func TestTransaction_Check(t *testing.T) {
	bad := costing.Transaction{Lines: []costing.Line{{Amount: 1}, {Amount: -2}}}
	if bad.Check() == nil {
		t.Error("a transaction out of balance passes")
	}
}

// Whatever sales, returns and costs a piece sees, what is left in work in process and what
// has moved on add up to its cost; and a piece that is sold in the end has all its cost in
// the cost of goods sold, also what came after the sale.
func TestClose_MovesAllCost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		piece := id.New()
		b := costing.NewBook()
		var cost money.Amount
		for range rapid.IntRange(1, 6).Draw(t, "costs") {
			amount := money.Amount(rapid.Int64Range(1, 10_000).Draw(t, "amount"))
			b.Issue(fact(piece), amount, "sand", rapid.Bool().Draw(t, "rework"))
			cost += amount
		}
		sold := rapid.Bool().Draw(t, "sold in the end")
		for range rapid.IntRange(0, 2).Draw(t, "came back") {
			b.Sell(fact(piece), 1, 0, 0)
			b.Refund(fact(piece), 1, 0, 0, true)
		}
		if sold {
			b.Sell(fact(piece), 1, 0, 0)
		}
		costs := b.Costs()
		for _, i := range rapid.Permutation(indexes(len(b.Marks))).Draw(t, "order") {
			for _, c := range costs {
				b.Post(costing.Close(costing.Moves(b.Marks)[i], c))
			}
		}
		inProcess, moved := balance(b, costing.WorkInProcess), balance(b, costing.CostOfGoodsSold)
		if inProcess+moved != cost {
			t.Fatalf("%d in process and %d moved on are not the cost %d", inProcess, moved, cost)
		}
		if want := map[bool]money.Amount{true: cost, false: 0}[sold]; moved != want {
			t.Fatalf("%d moved on, want %d", moved, want)
		}
		if b.Of(piece).Cost() != cost {
			t.Fatalf("the sheet says %d, want %d", b.Of(piece).Cost(), cost)
		}
	})
}

func indexes(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

func TestClose_ScrapIsALoss(t *testing.T) {
	b, piece := costing.NewBook(), id.New()
	b.TakeIn(fact(piece), 4_550)
	b.Scrap(fact(piece))
	b.Post(costing.Close(costing.Moves(b.Marks)[0], b.Costs()[0]))
	if got := balance(b, costing.ScrapLoss); got != 4_550 || balance(b, costing.WorkInProcess) != 0 {
		t.Errorf("scrap loss = %d, in process %d, want 4550 and 0", got, balance(b, costing.WorkInProcess))
	}
}

// A piece can be sold and scrapped at the same moment, for no lock spans two services. Its
// cost then leaves work in process once: it is sold, and a loss only when it comes back.
func TestMoves_SoldAndScrapped(t *testing.T) {
	for _, returned := range []bool{false, true} {
		b, piece := costing.NewBook(), id.New()
		b.TakeIn(fact(piece), 4_550)
		b.Scrap(fact(piece))
		b.Sell(fact(piece), 9_000, 0, 0)
		if returned {
			b.Refund(fact(piece), 9_000, 0, 0, true)
		}
		costs := b.Costs()
		for _, m := range costing.Moves(b.Marks) {
			b.Post(costing.Close(m, costs[0]))
		}
		sold, lost := money.Amount(4_550), money.Amount(0)
		if returned {
			sold, lost = 0, 4_550
		}
		if got := balance(b, costing.CostOfGoodsSold); got != sold {
			t.Errorf("returned %v: cost of goods sold = %d, want %d", returned, got, sold)
		}
		if got := balance(b, costing.ScrapLoss); got != lost {
			t.Errorf("returned %v: scrap loss = %d, want %d", returned, got, lost)
		}
		if got := balance(b, costing.WorkInProcess); got != 0 {
			t.Errorf("returned %v: %d left in process", returned, got)
		}
	}
}
