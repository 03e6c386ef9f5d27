package costing_test

import (
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

var (
	newYork = func() *time.Location {
		zone, err := time.LoadLocation("America/New_York")
		if err != nil {
			panic(err)
		}
		return zone
	}()
	bo = id.New()
)

// at is an instant by the clock of the shop in New York, in 2026.
func at(month time.Month, day, hour, minute int) time.Time {
	return time.Date(2026, month, day, hour, minute, 0, 0, newYork).UTC()
}

func weekOf(month time.Month, day int) costing.Week {
	return costing.WeekOf(time.Date(2026, month, day, 0, 0, 0, 0, time.UTC), newYork)
}

// nells is a stretch of Nell's on a first pass.
func nells(start time.Time, length time.Duration) costing.Stretch {
	return costing.Stretch{Fact: fact(id.New()), Sign: 1, Entry: id.New(), Person: nell, PersonName: "Nell", Start: start, End: start.Add(length)}
}

func taken(s costing.Stretch) costing.Stretch {
	s.Sign = -1
	return s
}

// desk is who keeps the payroll.
type desk struct {
	stretches []costing.Stretch
	rates     costing.Rates
	burdens   []costing.Burden
	rules     []costing.PayRule
	locks     []costing.PayLock
}

// terms are all that the desk pays by.
func (d *desk) terms() *costing.Terms {
	t := costing.NewTerms(slices.Concat(slices.Collect(maps.Values(d.rates))...), d.burdens, nil)
	t.SetPayRules(d.rules)
	return t
}

func (d *desk) payroll() *costing.Payroll {
	return costing.NewPayroll(d.stretches, d.terms(), d.locks, newYork)
}

func (d *desk) work(s ...costing.Stretch) { d.stretches = append(d.stretches, s...) }

// replace corrects a stretch.
func (d *desk) replace(old, fresh costing.Stretch) { d.work(taken(old), fresh) }

func (d *desk) lock(w costing.Week) {
	d.locks = append(d.locks, costing.PayLock{Monday: w.Monday, Lines: d.payroll().Of(w)})
}

// says checks Nell's only line of a week.
func (d *desk) says(t *testing.T, w costing.Week, want costing.PayLine) {
	t.Helper()
	want.Person, want.PersonName = nell, "Nell"
	want.RegularPay, want.RegularTime = want.Pay-want.Premium-want.LatePay, want.Time()-want.Late
	if diff := cmp.Diff([]costing.PayLine{want}, d.payroll().Of(w)); diff != "" {
		t.Errorf("week of %s (-want +got):\n%s", w.Monday.Format(time.DateOnly), diff)
	}
}

func (d *desk) saysNothing(t *testing.T, w costing.Week) {
	t.Helper()
	if got := d.payroll().Of(w); len(got) > 0 {
		t.Errorf("week of %s = %+v, want no line", w.Monday.Format(time.DateOnly), got)
	}
}

func twenty() costing.Rates {
	return costing.NewRates([]costing.Rate{rate(20_00, at(1, 1, 0, 0), monday)})
}

// A week is as long as the shop's clock makes it: where it is put forward an hour shorter.
func TestWeekOf(t *testing.T) {
	for _, c := range []struct {
		name       string
		month      time.Month
		day, first int
		hours      float64
	}{
		{"Monday", 3, 16, 16, 168},
		{"Sunday", 3, 22, 16, 168},
		{"PutForward", 3, 8, 2, 167}, // on Sunday 8 March 2026
		{"PutBack", 10, 28, 26, 169}, // on Sunday 1 November 2026
		{"OverTheMonth", 4, 1, 30, 168},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := weekOf(c.month, c.day)
			if w.Monday.Weekday() != time.Monday || w.Monday.Day() != c.first {
				t.Errorf("it begins on %v", w.Monday)
			}
			if got := w.To.Sub(w.From).Hours(); got != c.hours {
				t.Errorf("it is %v hours long, want %v", got, c.hours)
			}
			if next := w.Next(newYork); !next.From.Equal(w.To) {
				t.Errorf("the next begins at %v, not at %v", next.From, w.To)
			}
		})
	}
}

// What a person worked is told three ways, for each by itself, and paid as the ledger has it.
func TestPayroll_Week(t *testing.T) {
	d := &desk{rates: twenty()}
	again, cleaning := nells(at(3, 10, 8, 0), 30*time.Minute), nells(at(3, 11, 8, 0), 15*time.Minute)
	again.Rework = true
	cleaning.Indirect, cleaning.Piece = "cleaning", id.Nil
	wrong := nells(at(3, 12, 8, 0), 9*time.Hour)
	d.work(nells(at(3, 9, 8, 0), 2*time.Hour), again, cleaning, wrong)
	d.replace(wrong, nells(at(3, 12, 8, 0), time.Hour))
	w := weekOf(3, 9)
	d.says(t, w, costing.PayLine{Labour: 3 * time.Hour, Rework: 30 * time.Minute, Indirect: 15 * time.Minute, Pay: 75_00})
	d.saysNothing(t, weekOf(3, 2))
	d.saysNothing(t, w.Next(newYork))
	b := costing.NewBook(costing.Standard())
	for _, s := range d.stretches {
		b.Work(s, termsOf(d.rates))
	}
	if got := -balance(b, costing.WagesPayable); got != 75_00 {
		t.Errorf("the ledger owes %d, want the pay", got)
	}
}

// A stretch over Sunday midnight is cut there, and its cost to the cent: of 0.01 an hour over
// three hours, two before midnight, the weeks get 0.02 and 0.01.
func TestPayroll_OverMidnight(t *testing.T) {
	for name, c := range map[string]struct {
		perHour      money.Amount
		length       time.Duration
		before, pays costing.PayLine
	}{
		"Hours":  {20_00, 3 * time.Hour, costing.PayLine{Labour: 2 * time.Hour, Pay: 40_00}, costing.PayLine{Labour: time.Hour, Pay: 20_00}},
		"Cents":  {1, 3 * time.Hour, costing.PayLine{Labour: 2 * time.Hour, Pay: 2}, costing.PayLine{Labour: time.Hour, Pay: 1}},
		"AThird": {10, 140 * time.Minute, costing.PayLine{Labour: 2 * time.Hour, Pay: 20}, costing.PayLine{Labour: 20 * time.Minute, Pay: 3}},
	} {
		t.Run(name, func(t *testing.T) {
			d := &desk{rates: costing.NewRates([]costing.Rate{rate(c.perHour, at(1, 1, 0, 0), monday)})}
			d.work(nells(at(3, 15, 22, 0), c.length))
			d.says(t, weekOf(3, 15), c.before)
			d.says(t, weekOf(3, 16), c.pays)
		})
	}
}

// A night over which the clock is moved is as long as it was.
func TestPayroll_ClockMoved(t *testing.T) {
	d := &desk{rates: twenty()}
	d.work(nells(at(3, 8, 1, 0), 2*time.Hour), nells(at(11, 1, 0, 30), 2*time.Hour)) // until 4:00, until 1:30
	d.says(t, weekOf(3, 8), costing.PayLine{Labour: 2 * time.Hour, Pay: 40_00})
	d.says(t, weekOf(11, 1), costing.PayLine{Labour: 2 * time.Hour, Pay: 40_00})
	night := &desk{rates: twenty()}
	night.work(nells(at(3, 8, 0, 0), 24*time.Hour)) // until 1:00 on Monday
	night.says(t, weekOf(3, 8), costing.PayLine{Labour: 23 * time.Hour, Pay: 460_00})
	night.says(t, weekOf(3, 9), costing.PayLine{Labour: time.Hour, Pay: 20_00})
}

// What is corrected in a locked week counts in the next open one, and once that is locked,
// what is corrected again counts in the one after it.
func TestPayroll_CorrectedLate(t *testing.T) {
	d := &desk{rates: twenty()}
	first, second, third := weekOf(3, 2), weekOf(3, 9), weekOf(3, 16)
	forgotten := nells(at(3, 3, 8, 0), 9*time.Hour)
	d.work(forgotten, nells(at(3, 10, 8, 0), time.Hour))
	d.lock(first)
	right := nells(at(3, 3, 8, 0), 7*time.Hour)
	d.replace(forgotten, right)
	asLocked := costing.PayLine{Labour: 9 * time.Hour, Pay: 180_00}
	d.says(t, first, asLocked)
	d.says(t, second, costing.PayLine{Labour: time.Hour, Late: -2 * time.Hour, Pay: -20_00, LatePay: -40_00})
	d.lock(second)
	d.replace(right, nells(at(3, 3, 8, 0), 8*time.Hour))
	d.says(t, first, asLocked)
	d.says(t, second, costing.PayLine{Labour: time.Hour, Late: -2 * time.Hour, Pay: -20_00, LatePay: -40_00})
	d.says(t, third, costing.PayLine{Late: time.Hour, Pay: 20_00, LatePay: 20_00})
}

// A correction that moves work from one locked week to another changes what neither of them
// says, and leaves nothing late; one that only says what it was on does not either.
func TestPayroll_CorrectedBetweenLockedWeeks(t *testing.T) {
	d := &desk{rates: twenty()}
	first, second, third := weekOf(3, 2), weekOf(3, 9), weekOf(3, 16)
	wrong, other := nells(at(3, 3, 8, 0), 3*time.Hour), nells(at(3, 11, 8, 0), time.Hour)
	d.work(wrong, other)
	d.lock(first)
	d.lock(second)
	d.replace(wrong, nells(at(3, 10, 8, 0), 3*time.Hour))
	rework := other
	rework.Rework = true
	d.replace(other, rework)
	d.says(t, first, costing.PayLine{Labour: 3 * time.Hour, Pay: 60_00})
	d.says(t, second, costing.PayLine{Labour: time.Hour, Pay: 20_00})
	d.saysNothing(t, third)
	d.work(nells(at(3, 4, 8, 0), time.Hour), nells(at(3, 12, 8, 0), 2*time.Hour))
	d.says(t, third, costing.PayLine{Late: 3 * time.Hour, Pay: 60_00, LatePay: 60_00})
}

// A rate that is set for a locked week is paid with the first that is open.
func TestPayroll_RateSetLate(t *testing.T) {
	d := &desk{rates: twenty()}
	d.work(nells(at(3, 3, 8, 0), 10*time.Hour))
	d.lock(weekOf(3, 2))
	d.rates = costing.NewRates(append(d.rates[nell], rate(21_00, at(1, 1, 0, 0), monday.Add(time.Hour))))
	d.says(t, weekOf(3, 2), costing.PayLine{Labour: 10 * time.Hour, Pay: 200_00})
	d.says(t, weekOf(3, 9), costing.PayLine{Pay: 10_00, LatePay: 10_00})
}

// A week in which nobody worked need not be locked; what comes late of the one before it
// counts in it, and then it is the first that is open.
func TestPayroll_FirstOpen(t *testing.T) {
	d := &desk{rates: twenty()}
	if w, open := d.payroll().FirstOpen(); open {
		t.Errorf("FirstOpen of nothing = %v", w.Monday)
	}
	d.work(nells(at(3, 3, 8, 0), time.Hour), nells(at(3, 17, 8, 0), time.Hour))
	is := func(want costing.Week) {
		t.Helper()
		if got, open := d.payroll().FirstOpen(); !open || got != want {
			t.Errorf("FirstOpen = %v, %v, want %v", got.Monday, open, want.Monday)
		}
	}
	is(weekOf(3, 2))
	d.lock(weekOf(3, 2))
	is(weekOf(3, 16))
	d.lock(weekOf(3, 16))
	d.work(nells(at(3, 5, 8, 0), time.Hour))
	is(weekOf(3, 9))
	d.lock(weekOf(3, 9))
	d.says(t, weekOf(3, 9), costing.PayLine{Late: time.Hour, Pay: 20_00, LatePay: 20_00})
	if w, open := d.payroll().FirstOpen(); open {
		t.Errorf("FirstOpen with all locked = %v", w.Monday)
	}
}

// Whatever is worked, corrected, paid at which rate and locked, in whatever order: all lines of
// a person together are their live stretches, to the millisecond and the cent; a week that
// was locked says for ever what it said then; and a week says the same from the labour since
// it matters to it as from all.
func TestPayroll_Laws(t *testing.T) {
	people := []id.ID{nell, bo}
	rapid.Check(t, func(t *rapid.T) {
		d := &desk{}
		var live []costing.Stretch
		var rates []costing.Rate
		draw := func() costing.Stretch {
			s := nells(at(3, 2, 0, 0).Add(time.Duration(rapid.Int64Range(0, 21*24*3600_000).Draw(t, "start"))*time.Millisecond),
				time.Duration(rapid.Int64Range(1, 24*3600_000).Draw(t, "length"))*time.Millisecond)
			s.Person = rapid.SampledFrom(people).Draw(t, "person")
			s.Rework = rapid.Bool().Draw(t, "rework")
			s.Indirect = rapid.SampledFrom([]string{"", "cleaning"}).Draw(t, "indirect")
			return s
		}
		for step := range rapid.IntRange(1, 25).Draw(t, "steps") {
			switch rapid.IntRange(0, 5).Draw(t, "command") {
			case 0, 1:
				s := draw()
				d.work(s)
				live = append(live, s)
			case 2:
				if len(live) == 0 {
					continue
				}
				n := rapid.IntRange(0, len(live)-1).Draw(t, "corrected")
				fresh := draw()
				fresh.Person = live[n].Person
				d.replace(live[n], fresh)
				live[n] = fresh
			case 3:
				if len(live) == 0 {
					continue
				}
				n := rapid.IntRange(0, len(live)-1).Draw(t, "taken away")
				d.work(taken(live[n]))
				live = slices.Delete(live, n, n+1)
			case 4:
				r := rate(money.Amount(rapid.Int64Range(0, 9_999).Draw(t, "per hour")), at(3, rapid.IntRange(1, 25).Draw(t, "from"), 0, 0), monday.Add(time.Duration(step)*time.Hour))
				r.Person = rapid.SampledFrom(people).Draw(t, "whose")
				rates = append(rates, r)
				d.rates = costing.NewRates(rates)
			case 5:
				w := weekOf(3, rapid.IntRange(2, 29).Draw(t, "locked"))
				if first, open := d.payroll().FirstOpen(); open && first.Monday.Before(w.Monday) {
					w = first
				}
				if !slices.ContainsFunc(d.locks, func(l costing.PayLock) bool { return l.Monday.Equal(w.Monday) }) {
					d.lock(w)
				}
			}
			d.holds(t, people, live)
		}
	})
}

func (d *desk) holds(t *rapid.T, people []id.ID, live []costing.Stretch) {
	times, pays := map[id.ID]time.Duration{}, map[id.ID]money.Amount{}
	all := d.payroll()
	for w := weekOf(2, 23); w.Monday.Before(at(6, 1, 0, 0)); w = w.Next(newYork) {
		lines := all.Of(w)
		for _, l := range lines {
			times[l.Person] += l.Time()
			pays[l.Person] += l.Pay
		}
		since := costing.Since(w, d.locks, newYork)
		recent := slices.DeleteFunc(slices.Clone(d.stretches), func(s costing.Stretch) bool { return !s.End.After(since) || !s.Start.Before(w.To) })
		if diff := cmp.Diff(lines, costing.NewPayroll(recent, d.terms(), d.locks, newYork).Of(w)); diff != "" {
			t.Fatalf("week of %v from what matters to it (-all +since):\n%s", w.Monday, diff)
		}
	}
	for _, lock := range d.locks {
		if diff := cmp.Diff(lock.Lines, all.Of(costing.WeekOf(lock.Monday, newYork))); diff != "" {
			t.Fatalf("locked week of %v (-then +now):\n%s", lock.Monday, diff)
		}
	}
	for _, person := range people {
		var worked time.Duration
		var due money.Amount
		for _, s := range live {
			if s.Person == person {
				worked += s.End.Sub(s.Start)
				due += paid(d.rates[person], s.Start, s.End)
			}
		}
		if times[person] != worked || pays[person] != due {
			t.Fatalf("all lines come to %v for %d, the labour to %v for %d", times[person], pays[person], worked, due)
		}
	}
}
