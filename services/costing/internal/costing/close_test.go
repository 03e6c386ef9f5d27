package costing_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// journal is the books of a shop in New York: what was posted, and the months that were closed.
type journal struct {
	posted []costing.Transaction
	closes []costing.Close
}

// keep books into the journal; what it costs of pieces is not moved on.
func (j *journal) keep(book func(b *costing.Book)) *costing.Book {
	b := costing.NewBook(costing.Standard())
	book(b)
	j.posted = append(j.posted, b.Transactions...)
	return b
}

// between adds up what happened from an instant up to but not at another.
func (j *journal) between(since, before time.Time) []ledger.Balance {
	f := costing.Figures{}
	for _, t := range j.posted {
		if !t.OccurredAt.Before(since) && t.OccurredAt.Before(before) {
			for _, l := range t.Lines {
				f[l.Account] += l.Amount
			}
		}
	}
	return f.Balances()
}

func (j *journal) months() *costing.Months {
	m := costing.NewMonths(j.closes, newYork)
	for month := monthOf(1); month.First.Year() == 2026; month = month.Next(newYork) {
		if happened := j.between(month.From, month.To); len(happened) > 0 {
			m.Add(month, happened)
		}
	}
	return m
}

func (j *journal) carried(m costing.Month) []costing.Carried {
	of := map[id.ID]*costing.Carried{}
	for _, t := range j.posted {
		for _, l := range t.Lines {
			if l.Account != costing.OverheadApplied || l.Piece == id.Nil || t.OccurredAt.Before(m.From) || !t.OccurredAt.Before(m.To) {
				continue
			}
			if of[l.Piece] == nil {
				of[l.Piece] = &costing.Carried{Piece: l.Piece}
			}
			if l.Again {
				of[l.Piece].Again -= l.Amount
			} else {
				of[l.Piece].First -= l.Amount
			}
		}
	}
	var all []costing.Carried
	for _, c := range of {
		all = append(all, *c)
	}
	return all
}

// shut closes a month.
func (j *journal) shut(m costing.Month, s costing.Settlement, withIndirect bool) (costing.Close, *costing.Book, error) {
	months := j.months()
	c := months.NewClose(m, s, withIndirect)
	c.At = m.To.Add(time.Hour)
	if s == costing.Prorated {
		if err := c.Prorate(j.carried(m)); err != nil {
			return c, nil, err
		}
	}
	b := j.keep(func(b *costing.Book) { b.CloseMonth(c) })
	parts, since := map[int][]ledger.Balance{}, time.Time{}
	for n, at := range c.Midnights(newYork) {
		parts[n], since = j.between(since, at), at
	}
	c.Count(months, parts, newYork)
	if c.Since.Before(m.First) {
		c.Earlier = byMonth(c.Days, m)
	}
	j.closes = append(j.closes, c)
	return c, b, nil
}

// byMonth adds up days of months before one.
func byMonth(days []costing.Day, m costing.Month) (out []costing.Day) {
	of := map[time.Time]costing.Figures{}
	for _, d := range days {
		first := costing.MonthOf(d.Day, newYork).First
		if of[first] == nil {
			of[first] = costing.Figures{}
		}
		of[first].With(d.Counted)
	}
	for first, counted := range of {
		if first.Before(m.First) {
			out = append(out, costing.Day{Day: first, Counted: counted.Balances()})
		}
	}
	return out
}

// reopen takes the last close in force back.
func (j *journal) reopen(m costing.Month) error {
	c, err := j.months().Reopen(m, costing.Reopening{Reason: "a bill was missing", At: m.To.Add(2 * time.Hour)})
	if err != nil {
		return err
	}
	j.keep(func(b *costing.Book) { b.ReopenMonth(c) })
	j.closes[slices.IndexFunc(j.closes, func(known costing.Close) bool { return known.ID == c.ID })] = c
	return nil
}

func monthOf(m time.Month) costing.Month {
	return costing.MonthOf(time.Date(2026, m, 15, 0, 0, 0, 0, time.UTC), newYork)
}

func spent(amount money.Amount, at time.Time) costing.OverheadActual {
	return costing.OverheadActual{ID: id.New(), At: at, Amount: amount, RecordedAt: at}
}

// carries is overhead that a piece carries, by an hour of nobody's who is paid.
func carries(b *costing.Book, piece id.ID, amount money.Amount, again bool, at time.Time) {
	long := at.AddDate(-1, 0, 0)
	s := costing.Stretch{Fact: fact(piece), Sign: 1, Entry: id.New(), Person: bo, Stage: id.New(), StageKind: "sand", Rework: again, Start: at.Add(-time.Hour), End: at}
	s.OccurredAt = at
	b.Work(s, costing.NewTerms(nil, nil, []costing.OverheadRate{overhead("", amount, long, long)}))
}

func of(balances []ledger.Balance, a costing.Account) (sum money.Amount) {
	for _, b := range balances {
		if b.Account == a {
			sum += b.Amount
		}
	}
	return sum
}

// The month of a sign maker, OpenStax, Principles of Accounting, Volume 2: Managerial Accounting,
// sections 4.4 to 4.6 (CC BY-NC-SA 4.0), with its overhead of 2.50 for each dollar of direct labour.
// There is no basis by the dollar here: everybody earns 1.00 an hour, so an hour is a dollar and
// 2.50 an hour is the same. Four jobs of 1,531 (finished before), 1,725, 931 and 1,025; two are
// sold, for 3,500 and 2,000; one stands finished, one in process.
func TestBook_TextbookMonth(t *testing.T) {
	long := monday.AddDate(-1, 0, 0)
	terms := costing.NewTerms([]costing.Rate{rate(1_00, long, long)}, nil, []costing.OverheadRate{overhead("", 2_50, long, long)})
	b := costing.NewBook(costing.Standard())
	at := func(piece id.ID, n int) costing.Fact {
		f := fact(piece)
		f.OccurredAt = monday.Add(time.Duration(n) * time.Hour)
		return f
	}
	jobs := []struct {
		begun, material, labour, sold money.Amount
		finished                      bool
		cost                          money.Amount
	}{
		{begun: 1_531_00, sold: 3_500_00, cost: 1_531_00},
		{begun: 1_000_00, material: 200_00, labour: 150_00, finished: true, cost: 1_725_00},
		{material: 700_00, labour: 66_00, sold: 2_000_00, cost: 931_00},
		{material: 500_00, labour: 150_00, cost: 1_025_00},
	}
	for _, job := range jobs {
		piece := id.New()
		plan := stages(piece, 1)
		b.PlanStages(at(piece, 0), plan)
		if job.begun != 0 {
			b.TakeIn(at(piece, 1), job.begun)
		}
		if job.material != 0 {
			b.Issue(at(piece, 2), job.material, "paint_coat", false)
		}
		if hours := time.Duration(job.labour/1_00) * time.Hour; hours != 0 {
			b.Work(costing.Stretch{Fact: at(piece, 3), Sign: 1, Entry: id.New(), Person: nell, Stage: plan[0].ID, StageKind: "paint_coat", Start: monday.Add(-hours), End: monday}, terms)
		}
		if job.finished || job.sold != 0 {
			b.SetStages(at(piece, 4), costing.StageDone, plan[0].ID)
		}
		if job.sold != 0 {
			b.Sell(at(piece, 5), job.sold, 0, 0)
		}
		if got := b.Of(piece).Cost(); got != job.cost {
			t.Errorf("a job cost %d, want %d", got, job.cost)
		}
	}
	place(b)
	for account, want := range map[costing.Account]money.Amount{"cost_of_goods_sold": 2_462_00, "finished_goods": 1_725_00, costing.WorkInProcess: 1_025_00,
		costing.OverheadApplied: -915_00, "revenue": -5_500_00, costing.WagesPayable: -366_00} {
		if got := balance(b, account); got != want {
			t.Errorf("%s = %d, want %d", account, got, want)
		}
	}
	if err := b.Check(); err != nil {
		t.Error(err)
	}
}

// Overhead that jobs carried too little of, or too much, OpenStax (as above), section 4.6: of the sign
// maker 250,000 carried, and 256,500 or 248,000 really spent; of the winch maker, 33.50 an hour for
// 6,240 hours, which is 209,040, and spent 25,000 for material, 50,000 of depreciation, 17,500 for
// utilities, 85,000 for supervisors and 31,750 for labour on no job, which is 209,250.
func TestClose_TextbookVariances(t *testing.T) {
	sign := costing.Figures{costing.OverheadApplied: -250_000_00, costing.OverheadSpent: 256_500_00, costing.IndirectLabour: 5_000_00}
	over := costing.Figures{costing.OverheadApplied: -250_000_00, costing.OverheadSpent: 248_000_00}
	winch := costing.Figures{costing.OverheadApplied: -costing.ForTime(33_50, 6_240*time.Hour), costing.OverheadSpent: 25_000_00 + 50_000_00 + 17_500_00 + 85_000_00, costing.IndirectLabour: 31_750_00}
	for name, c := range map[string]struct {
		figures      costing.Figures
		withIndirect bool
		want         money.Amount
		left         money.Amount // labour on no piece that stays an expense
	}{
		"SignMakerTooLittle": {sign, false, 6_500_00, 5_000_00},
		"SignMakerTooMuch":   {over, false, -2_000_00, 0},
		"WinchMaker":         {winch, true, 210_00, 0},
	} {
		t.Run(name, func(t *testing.T) {
			closing := costing.NewClose(monthOf(3), costing.ToSold, c.withIndirect, c.figures)
			if got := closing.Under(); got != c.want {
				t.Errorf("too little = %d, want %d", got, c.want)
			}
			b := costing.NewBook(costing.Standard())
			b.CloseMonth(closing)
			if got := balance(b, "cost_of_goods_sold"); got != c.want || b.Check() != nil {
				t.Errorf("cost of goods sold = %d, want %d (%v)", got, c.want, b.Check())
			}
			for account, before := range c.figures {
				want := money.Amount(0)
				if account == costing.IndirectLabour {
					want = c.left
				}
				if got := before + balance(b, account); got != want {
					t.Errorf("%s is left with %d, want %d", account, got, want)
				}
			}
		})
	}
}

// Ten dollars too little are shared 6, 3 and 1 by what three pieces carried; the one that only
// carried rework gets it as rework, one that was corrected to nothing gets none.
func TestClose_Prorate(t *testing.T) {
	j, march := &journal{}, monthOf(3)
	first, both, again, nothing := id.New(), id.New(), id.New(), id.New()
	j.keep(func(b *costing.Book) {
		carries(b, first, 60_00, false, at(3, 3, 12, 0))
		carries(b, both, 20_00, false, at(3, 3, 12, 0))
		carries(b, both, 10_00, true, at(3, 4, 12, 0))
		carries(b, again, 10_00, true, at(3, 31, 23, 59))
		carries(b, nothing, 50_00, false, at(2, 28, 12, 0)) // not in March
		b.SpendOverhead(spent(160_00, at(3, 1, 0, 0)))
	})
	if _, _, err := j.shut(monthOf(2), costing.ToSold, false); err != nil {
		t.Fatal(err)
	}
	_, b, err := j.shut(march, costing.Prorated, false)
	if err != nil {
		t.Fatal(err)
	}
	for piece, want := range map[id.ID]costing.Sums{first: {Overhead: 36_00}, both: {Overhead: 18_00}, again: {Rework: 6_00}, nothing: {}} {
		if got := b.Of(piece).Sums; got != want {
			t.Errorf("a piece got %+v, want %+v", got, want)
		}
	}
	all := j.between(time.Time{}, march.To)
	if applied, actual := of(all, costing.OverheadApplied), of(all, costing.OverheadSpent); applied != 0 || actual != 0 {
		t.Errorf("applied %d and spent %d are left, want nothing", applied, actual)
	}
	if sold := of(j.closes[1].Counted, "cost_of_goods_sold"); sold != 0 {
		t.Errorf("cost of goods sold got %d of it", sold)
	}
	j.keep(func(b *costing.Book) { b.SpendOverhead(spent(1_00, at(4, 2, 0, 0))) })
	if _, _, err := j.shut(monthOf(4), costing.Prorated, false); !fault.Is(err, "NOTHING_TO_PRORATE") {
		t.Errorf("a month in which no piece carried any: %v", err)
	}
}

// Whatever was carried and spent, the shares add up to the difference.
func TestClose_Prorate_AddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := costing.NewClose(monthOf(3), costing.Prorated, rapid.Bool().Draw(t, "indirect"), costing.Figures{
			costing.OverheadApplied: -money.Amount(rapid.Int64Range(0, 1<<40).Draw(t, "applied")),
			costing.OverheadSpent:   money.Amount(rapid.Int64Range(0, 1<<40).Draw(t, "spent")),
			costing.IndirectLabour:  money.Amount(rapid.Int64Range(0, 1<<30).Draw(t, "on no piece"))})
		carried := []costing.Carried{{Piece: id.New(), First: 1}}
		for range rapid.IntRange(0, 12).Draw(t, "pieces") {
			carried = append(carried, costing.Carried{Piece: id.New(), First: money.Amount(rapid.Int64Range(-500, 1<<30).Draw(t, "first")), Again: money.Amount(rapid.Int64Range(-500, 1<<30).Draw(t, "again"))})
		}
		if err := c.Prorate(carried); err != nil {
			t.Fatal(err)
		}
		var sum money.Amount
		for _, s := range c.Shares {
			sum += s.Amount
		}
		if sum != c.Under() {
			t.Fatalf("the shares of %d come to %d", c.Under(), sum)
		}
		b := costing.NewBook(costing.Standard())
		b.CloseMonth(c)
		if err := b.Check(); err != nil || balance(b, "cost_of_goods_sold") != 0 {
			t.Fatalf("cost of goods sold got %d (%v)", balance(b, "cost_of_goods_sold"), err)
		}
	})
}

// Months are closed, some closes are taken back, and things that happened in them or before become known, in any
// order. What a month came to that is closed never changes, and no day of it; all months together are the ledger to the minor unit; each
// of them is in balance; and once all are closed the accounts come to the same in every order.
func TestMonths_ClosingAndLateThingsInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type thing struct {
			piece  id.ID
			amount money.Amount
			spent  bool
			at     time.Time
			close  bool
			reopen bool
		}
		var things []thing
		for range rapid.IntRange(1, 8).Draw(t, "things") {
			things = append(things, thing{piece: id.New(), amount: money.Amount(rapid.Int64Range(1, 99_999).Draw(t, "amount")), spent: rapid.Bool().Draw(t, "spent"),
				at: at(time.Month(rapid.IntRange(1, 4).Draw(t, "month")), rapid.IntRange(1, 28).Draw(t, "day"), 12, 0)})
		}
		firstClosed := time.Month(rapid.IntRange(1, 3).Draw(t, "first closed"))
		play := func(order []thing) *journal {
			j, next := &journal{}, firstClosed
			for _, th := range order {
				before := j.days(t)
				switch {
				case th.close:
					if _, _, err := j.shut(monthOf(next), costing.ToSold, false); err != nil {
						t.Fatal(err)
					}
					next++
				case th.reopen && next > firstClosed:
					next--
					if err := j.reopen(monthOf(next)); err != nil {
						t.Fatal(err)
					}
				case th.reopen:
				case th.spent:
					j.keep(func(b *costing.Book) { b.SpendOverhead(spent(th.amount, th.at)) })
				default:
					j.keep(func(b *costing.Book) { carries(b, th.piece, th.amount, false, th.at) })
				}
				for day, cash := range j.days(t) {
					if was, closed := before[day]; closed && cash != was {
						t.Fatalf("on %v the books had %d, and have %d since %+v", day, was, cash, th)
					}
				}
			}
			for ; next <= 7; next++ {
				if _, _, err := j.shut(monthOf(next), costing.ToSold, false); err != nil {
					t.Fatal(err)
				}
			}
			return j
		}
		mixed := slices.Clone(things)
		for range rapid.IntRange(0, 4).Draw(t, "closed meanwhile") {
			mixed = append(mixed, thing{close: true})
		}
		for range rapid.IntRange(0, 2).Draw(t, "taken back") {
			mixed = append(mixed, thing{reopen: true})
		}
		want, got := play(things), play(rapid.Permutation(mixed).Draw(t, "order"))
		months, all := got.months(), costing.Figures{}
		for m := time.Month(1); m <= 8; m++ {
			figures := months.Of(monthOf(m))
			var sum money.Amount
			for account, amount := range figures {
				all[account] += amount
				sum += amount
			}
			if sum != 0 {
				t.Fatalf("month %d is out of balance by %d", m, sum)
			}
		}
		books := got.between(time.Time{}, at(12, 31, 0, 0))
		for _, a := range costing.Standard().Entries {
			if all[a.Name] != of(books, a.Name) {
				t.Fatalf("%s: all months come to %d, the ledger to %d", a.Name, all[a.Name], of(books, a.Name))
			}
			if once := of(want.between(time.Time{}, at(12, 31, 0, 0)), a.Name); of(books, a.Name) != once {
				t.Fatalf("%s comes to %d in this order, to %d when all is known before the first close", a.Name, of(books, a.Name), once)
			}
		}
	})
}

// days is what closed months say of cash and of overhead on each of their days, and at the end.
func (j *journal) days(t interface{ Fatalf(string, ...any) }) map[time.Time]money.Amount {
	out := map[time.Time]money.Amount{}
	closes := costing.InForce(j.closes)
	if len(closes) == 0 {
		return out
	}
	for day := closes[0].Since; !day.After(closes[len(closes)-1].Month.To); day = day.AddDate(0, 0, 1) {
		at := time.Date(day.Year(), day.Month(), day.Day(), 9, 0, 0, 0, newYork)
		stands := j.standing(at)
		var sum money.Amount
		for _, amount := range stands {
			sum += amount
		}
		if sum != 0 {
			t.Fatalf("%v is out of balance by %d", at, sum)
		}
		if !costing.StandingAt(closes, at, newYork).Open {
			out[at] = stands["cash_clearing"]*1_000_003 + stands[costing.OverheadApplied]
		}
	}
	return out
}

// standing is what the accounts come to at an instant.
func (j *journal) standing(at time.Time) costing.Figures {
	stands := costing.StandingAt(costing.InForce(j.closes), at, newYork)
	if stands.Open {
		return stands.Counted.With(j.between(time.Time{}, at))
	}
	if stands.Of != nil {
		for _, d := range stands.Of.Days {
			if d.Day.Before(stands.Before) {
				stands.Counted.With(d.Counted)
			}
		}
	}
	return stands.Counted
}

// A closed month stands on each of its days as it was closed, also when more of it is known now; after
// its end what is late counts too, and where the next month is closed it counts with its first day.
func TestStandingAt(t *testing.T) {
	j := &journal{}
	bill := func(amount money.Amount, at time.Time) {
		j.keep(func(b *costing.Book) { b.SpendOverhead(spent(amount, at)) })
	}
	cash := func(name string, asked, answered time.Time, want money.Amount) {
		t.Helper()
		if got := j.standing(asked)["cash_clearing"]; got != want {
			t.Errorf("%s: cash = %d, want %d", name, got, want)
		}
		if got := costing.StandingAt(costing.InForce(j.closes), asked, newYork).At; !got.Equal(answered) {
			t.Errorf("%s: it is for %v, want %v", name, got, answered)
		}
	}
	same := func(name string, at time.Time, want money.Amount) { t.Helper(); cash(name, at, at, want) }
	bill(10_00, at(1, 5, 10, 0))
	same("Open", at(1, 5, 12, 0), -10_00)
	if _, _, err := j.shut(monthOf(1), costing.ToSold, false); err != nil {
		t.Fatal(err)
	}
	bill(3_00, at(1, 20, 10, 0))
	bill(2_00, at(2, 20, 10, 0))
	cash("WithinADay", at(1, 5, 12, 0), at(1, 5, 0, 0), 0)
	same("TheDayAfter", at(1, 6, 0, 0), -10_00)
	same("AfterTheLateOne", at(1, 25, 0, 0), -10_00)
	same("AsItWasClosed", monthOf(1).To, -10_00)
	same("AMomentLater", monthOf(1).To.Add(time.Millisecond), -13_00)
	same("Later", at(2, 25, 0, 0), -15_00)
	if _, _, err := j.shut(monthOf(2), costing.ToSold, false); err != nil {
		t.Fatal(err)
	}
	bill(7_00, at(2, 3, 10, 0))
	same("TheEndOfTheFirst", monthOf(1).To, -10_00)
	cash("TheFirstDayOfTheSecond", monthOf(1).To.Add(time.Hour), monthOf(1).To, -10_00)
	same("ItsSecondDay", at(2, 2, 0, 0), -13_00)
	same("TheEndOfTheSecond", monthOf(2).To, -15_00)
	same("AfterIt", at(3, 1, 0, 1), -22_00)
}

// The first close ever takes in all that is before its month, in one; the months before come to what
// happened in them, as counted then. After it month follows month.
func TestMonths_FirstCloseTakesInAllBefore(t *testing.T) {
	j, piece := &journal{}, id.New()
	j.keep(func(b *costing.Book) {
		b.SpendOverhead(spent(10_00, at(1, 5, 0, 0)))
		carries(b, piece, 4_00, false, at(2, 28, 12, 0))
		carries(b, piece, 5_00, false, at(3, 2, 12, 0))
	})
	c, _, err := j.shut(monthOf(3), costing.ToSold, false)
	if err != nil || c.Since.Month() != time.January || c.Actual != 10_00 || c.Applied != 9_00 || len(c.Late) != 0 {
		t.Fatalf("the close = %+v, %v", c, err)
	}
	j.keep(func(b *costing.Book) { b.SpendOverhead(spent(1_00, at(1, 6, 0, 0))) })
	months := j.months()
	for m, want := range map[time.Month]costing.Figures{1: {"cash_clearing": -10_00, costing.OverheadSpent: 10_00}, 2: {costing.OverheadApplied: -4_00},
		3: {costing.OverheadSpent: -10_00, costing.OverheadApplied: 4_00, "cost_of_goods_sold": 1_00}, 4: {"cash_clearing": -1_00, costing.OverheadSpent: 1_00}} {
		for account, amount := range want {
			if got := months.Of(monthOf(m))[account]; got != amount {
				t.Errorf("month %d: %s = %d, want %d", m, account, got, amount)
			}
		}
	}
	if first, some := months.Span(); !some || first.First.Month() != time.March {
		t.Errorf("the months begin with %v", first)
	}
}

// Only the last close can be taken back; what it settled is gone then to the minor unit, and the month
// can be closed again, in another way.
func TestMonths_Reopen(t *testing.T) {
	j, piece := &journal{}, id.New()
	refused := func(m time.Month, reason string) {
		t.Helper()
		if err := j.reopen(monthOf(m)); !fault.Is(err, reason) {
			t.Errorf("month %d: %v, want %s", m, err, reason)
		}
	}
	refused(1, "MONTH_NOT_CLOSED")
	j.keep(func(b *costing.Book) {
		carries(b, piece, 60_00, false, at(2, 3, 12, 0))
		b.SpendOverhead(spent(70_00, at(2, 1, 0, 0)))
	})
	if _, _, err := j.shut(monthOf(1), costing.ToSold, false); err != nil {
		t.Fatal(err)
	}
	open := j.between(time.Time{}, monthOf(2).To)
	first, _, err := j.shut(monthOf(2), costing.Prorated, false)
	if err != nil || len(first.Shares) != 1 {
		t.Fatalf("shares = %v, %v", first.Shares, err)
	}
	refused(1, "LATER_MONTH_CLOSED")
	refused(3, "MONTH_NOT_CLOSED")
	if err := j.reopen(monthOf(2)); err != nil {
		t.Fatal(err)
	}
	figures := costing.Figures{}.With(j.between(time.Time{}, monthOf(2).To))
	for _, b := range open {
		if figures[b.Account] != b.Amount {
			t.Errorf("%s = %d, and was %d before the close", b.Account, figures[b.Account], b.Amount)
		}
	}
	if months := j.months(); months.Closed(monthOf(2)) || len(months.Undone(monthOf(2))) != 1 {
		t.Error("February is not open")
	}
	again, _, err := j.shut(monthOf(2), costing.ToSold, false)
	if err != nil || again.Follows != j.closes[1].Reopened.ID || of(again.Counted, "cost_of_goods_sold") != 10_00 {
		t.Errorf("closed again = %+v, %v", again, err)
	}
}
