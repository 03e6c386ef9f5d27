package costing_test

import (
	"math/big"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// ruled is a desk that pays 12.00 an hour by a rule from 9 March on, and a tenth of it on top.
func ruled(r labour.Rule) *desk {
	long := at(1, 1, 0, 0)
	return &desk{rates: costing.NewRates([]costing.Rate{rate(12_00, long, long)}), rules: []costing.PayRule{payRule(3, 9, r)},
		burdens: []costing.Burden{burden(id.Nil, 10*percent, long, long)}}
}

// A line tells overtime, premium, regular rate and burden of 29 CFR 778.110(a)'s week.
func TestPayroll_Overtime(t *testing.T) {
	d := ruled(timeAndAHalf)
	d.work(fortySix()...)
	d.says(t, weekOf(3, 9), costing.PayLine{Labour: 23 * time.Hour, Rework: 11*time.Hour + 30*time.Minute, Indirect: 11*time.Hour + 30*time.Minute,
		Overtime: 6 * time.Hour, Premium: 36_00, Pay: 588_00, Burden: 58_80})
	if got, is := d.payroll().Of(weekOf(3, 9))[0].Regular(); !is || got.Cmp(big.NewRat(12_00, 1)) != 0 {
		t.Errorf("the regular rate is %v, want 12.00", got)
	}
}

// Pauses that are paid and time that rounding adds are in the hours and in the regular rate.
func TestPayroll_BreaksAndRounding(t *testing.T) {
	d := ruled(labour.Rule{PaidBreak: 20 * time.Minute, RoundTo: 15 * time.Minute})
	first, second := nells(at(3, 9, 8, 4), 116*time.Minute), nells(at(3, 9, 10, 15), time.Hour)
	first.Paused = true
	d.work(first, second)
	d.says(t, weekOf(3, 9), costing.PayLine{Labour: 176 * time.Minute, Breaks: 15 * time.Minute, BreakPay: 3_00, Rounding: 4 * time.Minute, RoundingPay: 80,
		Pay: 39_00, Burden: 3_90}) // three hours and a quarter
}

// A rest over the end of a week is paid in both, also where only one of the two is looked at.
func TestPayroll_RestOverTheWeeksEnd(t *testing.T) {
	d := ruled(labour.Rule{PaidBreak: 20 * time.Minute})
	first, second := nells(at(3, 15, 22, 50), time.Hour), nells(at(3, 16, 0, 5), time.Hour)
	first.Paused = true
	d.work(first, second)
	d.says(t, weekOf(3, 9), costing.PayLine{Labour: time.Hour, Breaks: 10 * time.Minute, BreakPay: 2_00, Pay: 14_00, Burden: 1_40})
	d.says(t, weekOf(3, 16), costing.PayLine{Labour: time.Hour, Breaks: 5 * time.Minute, BreakPay: 1_00, Pay: 13_00, Burden: 1_30})
}

// A locked week stays as it is; what a correction takes of its overtime is late: four hours and their premium.
func TestPayroll_OvertimeCorrectedLate(t *testing.T) {
	d := ruled(timeAndAHalf)
	wrong := nells(at(3, 9, 0, 0), 46*time.Hour)
	d.work(wrong)
	asLocked := costing.PayLine{Labour: 46 * time.Hour, Overtime: 6 * time.Hour, Premium: 36_00, Pay: 588_00, Burden: 58_80}
	d.says(t, weekOf(3, 9), asLocked)
	d.lock(weekOf(3, 9))
	d.replace(wrong, nells(at(3, 9, 0, 0), 42*time.Hour))
	d.work(nells(at(3, 16, 8, 0), 41*time.Hour))
	d.says(t, weekOf(3, 9), asLocked)
	d.says(t, weekOf(3, 16), costing.PayLine{Labour: 41 * time.Hour, Overtime: time.Hour, Premium: 6_00, Late: -4 * time.Hour, LatePay: -72_00,
		Pay: 41*12_00 + 6_00 - 72_00, Burden: 42_60})
}

// Nell's day has five turns that touch or leave a pause between them, and the last goes over midnight.
var turns = []struct{ start, end time.Duration }{
	{8 * time.Hour, 10 * time.Hour}, {10*time.Hour + 12*time.Minute, 12 * time.Hour}, {12*time.Hour + 40*time.Minute, 17 * time.Hour},
	{17 * time.Hour, 23*time.Hour + 52*time.Minute}, {24*time.Hour + 3*time.Minute, 27 * time.Hour},
}

// story is what happens to a shop's labour, and what its books and its payroll make of it.
type story struct {
	desk
	keeper *keeper
	live   map[[3]int]costing.Stretch // by person, day and turn
	clock  time.Time                  // of who records
	people []id.ID
}

func (s *story) recorded() time.Time {
	s.clock = s.clock.Add(time.Second)
	return s.clock
}

// drawWork is a turn of somebody's, some minutes off; now and then it reaches over the next.
func (s *story) drawWork(t *rapid.T, key [3]int) costing.Stretch {
	turn := turns[key[2]]
	day := at(3, 2+key[1], 0, 0)
	off := func(what string) time.Duration {
		return time.Duration(rapid.Int64Range(-110_000, 110_000).Draw(t, what)) * time.Millisecond
	}
	w := nells(day.Add(turn.start), 0)
	w.End = day.Add(turn.end)
	if key[2] != 3 { // the fourth turn begins as the third ends
		w.Start = w.Start.Add(off("start"))
	}
	if key[2] != 2 {
		w.End = w.End.Add(off("end"))
	}
	if rapid.IntRange(0, 30).Draw(t, "reaches over") == 0 {
		w.End = w.End.Add(time.Hour)
	}
	w.Fact = costing.Fact{ID: id.New(), Piece: rapid.SampledFrom(pieces).Draw(t, "piece"), RecordedAt: s.recorded()}
	w.Person, w.Paused, w.Rework = s.people[key[0]], rapid.Bool().Draw(t, "paused"), rapid.Bool().Draw(t, "rework")
	if rapid.IntRange(0, 3).Draw(t, "indirect") == 0 {
		w.Indirect, w.Piece = "cleaning", id.Nil
	}
	return w
}

var pieces = []id.ID{id.New(), id.New()}

func (s *story) book(stretches ...costing.Stretch) {
	s.work(stretches...)
	s.keeper.work(s.terms(), stretches...)
}

// step lets one thing happen.
func (s *story) step(t *rapid.T) {
	key := [3]int{rapid.IntRange(0, 1).Draw(t, "who"), rapid.IntRange(0, 20).Draw(t, "day"), rapid.IntRange(0, len(turns)-1).Draw(t, "turn")}
	switch rapid.IntRange(0, 6).Draw(t, "what") {
	case 0, 1, 2:
		fresh := s.drawWork(t, key)
		if old, there := s.live[key]; there {
			gone := taken(old)
			gone.Fact = fresh.Fact
			gone.Piece = old.Piece
			s.book(gone, fresh)
		} else {
			s.book(fresh)
		}
		s.live[key] = fresh
	case 3:
		if old, there := s.live[key]; there {
			gone := taken(old)
			gone.ID, gone.RecordedAt = id.New(), s.recorded()
			s.book(gone)
			delete(s.live, key)
		}
	case 4:
		r := costing.Rate{ID: id.New(), Person: s.people[key[0]], PerHour: money.Amount(rapid.Int64Range(0, 40_00).Draw(t, "per hour")), From: at(3, key[1], 0, 0), RecordedAt: s.recorded()}
		s.rates[r.Person] = append(s.rates[r.Person], r)
		s.keeper.term(s.terms(), r.ID, r.RecordedAt)
	case 5:
		b := burden(rapid.SampledFrom([]id.ID{id.Nil, s.people[key[0]]}).Draw(t, "whose"), rapid.Int64Range(0, 30*percent).Draw(t, "share"), at(3, key[1], 0, 0), s.recorded())
		s.burdens = append(s.burdens, b)
		s.keeper.term(s.terms(), b.ID, b.RecordedAt)
	case 6:
		s.setRule(t, weekOf(3, 2+key[1]))
	}
}

// setRule has the shop pay by another rule from a week on, unless that or a later one is locked.
func (s *story) setRule(t *rapid.T, w costing.Week) {
	if slices.ContainsFunc(s.locks, func(l costing.PayLock) bool { return !l.Monday.Before(w.Monday) }) {
		return
	}
	r := costing.PayRule{ID: id.New(), Monday: w.Monday, RecordedAt: s.recorded(), Rule: labour.Rule{
		WeeklyAfter: time.Duration(rapid.SampledFrom([]int{0, 8, 20}).Draw(t, "weekly")) * time.Hour, DailyAfter: time.Duration(rapid.SampledFrom([]int{0, 4}).Draw(t, "daily")) * time.Hour,
		PaidBreak: time.Duration(rapid.SampledFrom([]int{0, 12, 20}).Draw(t, "break")) * time.Minute, RoundTo: time.Duration(rapid.SampledFrom([]int{0, 6, 15}).Draw(t, "rounding")) * time.Minute,
		Percent: 150, ToOverhead: rapid.Bool().Draw(t, "overhead")}}
	s.rules = append(s.rules, r)
	s.keeper.rule(s.terms(), r)
}

func newStory(t interface{ Fatalf(string, ...any) }) *story {
	return &story{desk: desk{rates: costing.Rates{}}, keeper: keepBooks(t), live: map[[3]int]costing.Stretch{}, clock: monday, people: []id.ID{nell, bo}}
}

// Whatever is worked, corrected, paid at which rate and by which rule, and locked, in whatever order:
// the ledger owes what all pay lines come to, to the cent, and so it does of the burden; locked weeks say
// for ever what they said; and a week says the same from the labour that matters to it as from all.
func TestPayroll_IsWhatTheLedgerOwes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := newStory(t)
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			s.step(t)
			if rapid.IntRange(0, 7).Draw(t, "lock") == 0 {
				if w, open := s.payroll().FirstOpen(); open {
					s.lock(w)
				}
			}
		}
		var pay, burden money.Amount
		var paid, unlocked time.Duration
		all, open := s.payroll(), costing.NewPayroll(s.stretches, s.terms(), nil, newYork)
		for w := weekOf(2, 23); w.Monday.Before(at(12, 1, 0, 0)); w = w.Next(newYork) {
			lines := all.Of(w)
			for _, l := range lines {
				pay += l.Pay
				burden += l.Burden
				paid += l.Time()
				if l.RegularTime < 0 || l.Premium < 0 || l.Breaks < 0 {
					t.Fatalf("below zero: %+v", l)
				}
			}
			for _, l := range open.Of(w) {
				unlocked += l.Time()
			}
			s.sameFromWhatMatters(t, w, lines)
		}
		if paid != unlocked {
			t.Fatalf("%v are paid, %v without locks", paid, unlocked)
		}
		if wages, onTop := s.keeper.owes(costing.WagesPayable), s.keeper.owes("burden_payable"); wages != pay || onTop != burden {
			t.Fatalf("the ledger owes wages of %d and %d on top, the payroll pays %d and %d", wages, onTop, pay, burden)
		}
		for _, lock := range s.locks {
			if diff := cmp.Diff(lock.Lines, all.Of(costing.WeekOf(lock.Monday, newYork))); diff != "" {
				t.Fatalf("locked week of %v (-then +now):\n%s", lock.Monday, diff)
			}
		}
	})
}

func (s *story) sameFromWhatMatters(t *rapid.T, w costing.Week, lines []costing.PayLine) {
	since := costing.Since(w, s.locks, newYork).Add(-labour.MaxBreak)
	recent := slices.DeleteFunc(slices.Clone(s.stretches), func(l costing.Stretch) bool {
		return !l.End.After(since) || !l.Start.Before(w.To.Add(labour.MaxBreak))
	})
	if diff := cmp.Diff(lines, costing.NewPayroll(recent, s.terms(), s.locks, newYork).Of(w)); diff != "" {
		t.Fatalf("week of %v from what matters to it (-all +since):\n%s", w.Monday, diff)
	}
}

// In whatever order, and in whatever books together, all of it becomes known: what workweeks come to
// is the same, line by line.
func TestBook_Week_OrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := newStory(t)
		for range rapid.IntRange(1, 30).Draw(t, "steps") {
			s.step(t)
		}
		again := keepBooks(t)
		told := rapid.Permutation(s.stretches).Draw(t, "told")
		for len(told) > 0 {
			n := rapid.IntRange(1, len(told)).Draw(t, "at once")
			again.work(s.terms(), told[:n]...)
			told = told[n:]
		}
		if diff := cmp.Diff(sums(s.keeper.ledger), sums(again.ledger)); diff != "" {
			t.Fatalf("told otherwise (-first +again):\n%s", diff)
		}
	})
}

// sums are the lines of a ledger by all that they are about, without what cancels out.
func sums(ledger []costing.Dated) map[costing.Dated]money.Amount {
	out := map[costing.Dated]money.Amount{}
	for _, l := range ledger {
		key := l
		key.Amount, key.At = 0, l.At.UTC()
		if out[key] += l.Amount; out[key] == 0 {
			delete(out, key)
		}
	}
	return out
}
