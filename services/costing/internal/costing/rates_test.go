package costing_test

import (
	"maps"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

var (
	nell   = id.New()
	monday = time.Date(2026, 3, 2, 5, 0, 0, 0, time.UTC) // midnight in the shop
)

func rate(perHour money.Amount, from, recorded time.Time) costing.Rate {
	return costing.Rate{ID: id.New(), Person: nell, From: from, PerHour: perHour, RecordedAt: recorded}
}

// paid is what rates pay for a time, worked out instant by instant: by the rate that began last, of two that
// began together the one recorded later; rounded once for each time over which the amount stays the same.
func paid(rates []costing.Rate, start, end time.Time) (sum money.Amount) {
	marks := []time.Time{start, end}
	for _, r := range rates {
		if r.From.After(start) && r.From.Before(end) {
			marks = append(marks, r.From)
		}
	}
	slices.SortFunc(marks, time.Time.Compare)
	holds := func(at time.Time) (holding costing.Rate) {
		for _, r := range rates { // as they were recorded
			if !r.From.After(at) && !r.From.Before(holding.From) {
				holding = r
			}
		}
		return holding
	}
	since := start
	for _, at := range marks[1:] {
		if is := holds(since).PerHour; at.Equal(end) || holds(at).PerHour != is {
			sum += money.MulDiv(is, at.Sub(since).Milliseconds(), 3_600_000)
			since = at
		}
	}
	return sum
}

// cost is what a time of Nell's costs by rates.
func cost(t *testing.T, start, end time.Time, rates ...costing.Rate) money.Amount {
	t.Helper()
	b, s := costing.NewBook(costing.Standard()), nells(start, end.Sub(start))
	s.RecordedAt = monday.AddDate(0, 1, 0)
	b.Work(s, costing.NewTerms(rates, nil, nil))
	return b.Of(s.Piece).Labour
}

func TestStretch_Pay(t *testing.T) {
	tuesday := monday.AddDate(0, 0, 1)
	raise := []costing.Rate{rate(1800, monday, monday), rate(2000, tuesday, tuesday)}
	hours := func(n float64) time.Duration { return time.Duration(n * float64(time.Hour)) }
	cases := []struct {
		name       string
		start, end time.Time
		want       money.Amount
	}{
		{"AnHourAtTheFirstRate", monday.Add(hours(8)), monday.Add(hours(9)), 1800},
		{"AnHourAtTheSecond", tuesday.Add(hours(8)), tuesday.Add(hours(9)), 2000},
		{"OverTheMidnightThatRaisesThePay", tuesday.Add(-hours(1)), tuesday.Add(hours(0.5)), 1800 + 1000},
		{"BeforeTheFirstRate", monday.Add(-hours(2)), monday.Add(-hours(1)), 0},
		{"PartlyBeforeTheFirstRate", monday.Add(-hours(1)), monday.Add(hours(1)), 1800},
		{"OneSecondIsHalfACentAndRoundsToEven", monday, monday.Add(time.Second), 0},
		{"ThreeSecondsAreACentAndAHalf", monday, monday.Add(3 * time.Second), 2},
		{"AThirdOfAnHour", monday, monday.Add(20 * time.Minute), 600},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := cost(t, c.start, c.end, raise...); got != c.want {
				t.Errorf("pay = %d, want %d", got, c.want)
			}
			if got := paid(raise, c.start, c.end); got != c.want {
				t.Errorf("worked out by hand it is %d, want %d", got, c.want)
			}
		})
	}
}

func TestStretch_Pay_ALaterWordForTheSameDayHolds(t *testing.T) {
	at := monday.Add(8 * time.Hour)
	first, corrected := rate(1800, monday, monday), rate(2100, monday, monday.Add(time.Hour))
	if got := cost(t, at, at.Add(time.Hour), first); got != 1800 {
		t.Errorf("before the correction an hour costs %d, want 1800", got)
	}
	if got := cost(t, at, at.Add(time.Hour), corrected, first); got != 2100 {
		t.Errorf("after the correction an hour costs %d, want 2100", got)
	}
}

// Worker pay of a sign maker's job, OpenStax, Principles of Accounting, Volume 2:
// Managerial Accounting, section 4 (CC BY-NC-SA 4.0): a handler 15, a technician 15 and
// two assistants 18 each come to 66 of direct labour; its month's jobs to 366.
func TestForTime_TextbookDirectLabour(t *testing.T) {
	var job money.Amount
	for _, perHour := range []money.Amount{1500, 1500, 1800, 1800} {
		job += costing.ForTime(perHour, time.Hour)
	}
	if job != 6600 {
		t.Errorf("direct labour of the job = %d, want 6600", job)
	}
}

// Every line of a stretch says whose labour it is and on which stage, those of an adjustment
// too.
func TestStretch_LinesNameTheStage(t *testing.T) {
	rates := costing.NewRates([]costing.Rate{rate(1800, monday, monday), rate(2000, monday, monday.Add(time.Hour))})
	s := costing.Stretch{Fact: fact(id.New()), Sign: 1, Entry: id.New(), Person: nell, Stage: id.New(), StageKind: "sand", Start: monday, End: monday.Add(time.Hour)}
	all := s.Transactions(costing.Standard(), termsOf(rates))
	if len(all) != 2 {
		t.Fatalf("transactions = %+v, want the first cost and an adjustment", all)
	}
	for _, tx := range all {
		for _, l := range tx.Lines {
			if l.Person != nell || l.Stage != s.Stage || l.StageKind != "sand" || l.Piece != s.Piece {
				t.Errorf("line = %+v, want it on stage %s", l, s.Stage)
			}
		}
	}
}

// However many rates are recorded and whenever, the first cost and the adjustments add up
// to what the stretch costs by all of them; and taking it away later leaves nothing.
func TestStretch_TransactionsAddUpToTheCost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []costing.Rate
		for i := range rapid.IntRange(0, 6).Draw(t, "rates") {
			list = append(list, rate(money.Amount(rapid.SampledFrom([]int64{18_00, 20_01, rapid.Int64Range(0, 9999).Draw(t, "any")}).Draw(t, "per hour")),
				monday.AddDate(0, 0, rapid.IntRange(-3, 3).Draw(t, "day")), monday.Add(time.Duration(i)*time.Hour)))
		}
		rates := costing.NewRates(list)
		start := monday.Add(time.Duration(rapid.Int64Range(-72*3600_000, 72*3600_000).Draw(t, "start")) * time.Millisecond)
		end := start.Add(time.Duration(rapid.Int64Range(1, 40*3600_000).Draw(t, "length")) * time.Millisecond)
		s := costing.Stretch{Sign: 1, Entry: id.New(), Person: nell, Start: start, End: end}
		s.Fact = costing.Fact{ID: id.New(), Piece: id.New(), RecordedAt: monday.Add(time.Duration(rapid.IntRange(-1, 7).Draw(t, "recorded")) * time.Hour)}
		away := s
		away.Sign = -1
		away.Fact = costing.Fact{ID: id.New(), Piece: s.Piece, RecordedAt: s.RecordedAt.Add(time.Duration(rapid.IntRange(0, 5).Draw(t, "corrected")) * time.Hour)}

		added, removed := total(t, s.Transactions(costing.Standard(), termsOf(rates))), total(t, away.Transactions(costing.Standard(), termsOf(rates)))
		if want := paid(list, start, end); added != want {
			t.Fatalf("transactions add up to %d, want %d", added, want)
		}
		if added+removed != 0 {
			t.Fatalf("what was added is %d and what was taken away %d", added, removed)
		}
	})
}

// total sums what transactions put into work in process, each being in balance and named
// once.
func total(t *rapid.T, transactions []costing.Transaction) (sum money.Amount) {
	names := map[id.ID]bool{}
	for _, tx := range transactions {
		if err := tx.Check(); err != nil {
			t.Fatal(err)
		}
		if names[tx.ID] {
			t.Fatalf("two transactions named %s", tx.ID)
		}
		names[tx.ID] = true
		for _, l := range tx.Lines {
			if l.Account == costing.WorkInProcess {
				sum += l.Amount
			}
		}
	}
	return sum
}

// termsOf are terms that are nothing but pay rates.
func termsOf(r costing.Rates) *costing.Terms {
	return costing.NewTerms(slices.Concat(slices.Collect(maps.Values(r))...), nil, nil)
}

// An hour that costs more than anybody's is a slip: of dollars from ten thousand on, of a currency in which hours
// cost hundred thousands much later.
func TestCheckPerHour(t *testing.T) {
	for _, c := range []struct {
		code   string
		amount string
		want   string
	}{
		{"USD", "0", ""}, {"USD", "10000.00", ""}, {"USD", "10000.01", "RATE_ABSURD"}, {"USD", "1000000000.00", "RATE_ABSURD"},
		{"KWD", "10000.000", ""}, {"KWD", "10000.001", "RATE_ABSURD"},
		{"IDR", "250000.00", ""}, {"VND", "400000", ""}, {"VND", "10000001", "RATE_ABSURD"}, {"CLF", "10000000.0001", "RATE_ABSURD"},
	} {
		currency, err := money.CurrencyOf(c.code)
		if err != nil {
			t.Fatal(err)
		}
		amount, err := currency.Parse(c.amount)
		if err != nil {
			t.Fatal(err)
		}
		err = costing.CheckPerHour(amount, currency)
		if got := fault.Of(err); c.want == "" && err != nil || c.want != "" && (got == nil || got.Reason != c.want || got.Kind != fault.Invalid) {
			t.Errorf("CheckPerHour(%s %s) = %v, want %q", c.amount, c.code, err, c.want)
		}
	}
}
