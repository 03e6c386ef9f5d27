package costing_test

import (
	"testing"
	"time"

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
	b := costing.NewBook(costing.Standard())
	terms := costing.NewTerms([]costing.Rate{rate(100, monday, monday)}, nil, nil) // 1.00 an hour: a dollar is an hour
	b.Receive(fact(id.Nil), 250_000)
	b.Receive(fact(id.Nil), 1_050_000)
	jobs := []struct{ material, labour, prime money.Amount }{{20_000, 15_000, 35_000}, {70_000, 6_600, 76_600}, {50_000, 15_000, 65_000}}
	pieces := make([]id.ID, len(jobs))
	for i, job := range jobs {
		pieces[i] = id.New()
		b.Issue(fact(pieces[i]), job.material, "paint_coat", false)
		s := costing.Stretch{Fact: fact(pieces[i]), Sign: 1, Entry: id.New(), Person: nell, Start: monday, End: monday.Add(time.Duration(job.labour/100) * time.Hour)}
		b.Work(s, terms)
	}
	b.Sell(fact(pieces[1]), 200_000, 0, 0)

	for i, job := range jobs {
		if got := b.Of(pieces[i]).Cost(); got != job.prime {
			t.Errorf("job %d cost %d, want %d", i, got, job.prime)
		}
	}
	if got := balance(b, "materials_on_hand"); got != 1_160_000 {
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
	b, piece := costing.NewBook(costing.Standard()), id.New()
	b.TakeIn(fact(piece), 4_550)
	b.Sell(fact(piece), 30_000, 2_475, 3_000)
	c := b.Of(piece)
	if c.Revenue != 30_000 || c.Tax != 2_475 || c.Fees != 3_000 || c.Profit() != 30_000-3_000-4_550 {
		t.Errorf("sums = %+v", c.Sums)
	}
	if got := balance(b, "cash_clearing"); got != -4_550+30_000+2_475-3_000 {
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
