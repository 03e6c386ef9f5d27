package labour_test

import (
	"math/big"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/labour"
	"tackfree/pkg/money"
)

// someRule is any rule that may be set.
func someRule(t *rapid.T) labour.Rule {
	r := labour.Rule{
		WeeklyAfter: time.Duration(rapid.SampledFrom([]int{0, 10, 40, 48}).Draw(t, "weekly after")) * time.Hour,
		DailyAfter:  time.Duration(rapid.SampledFrom([]int{0, 4, 8}).Draw(t, "daily after")) * time.Hour,
		PaidBreak:   time.Duration(rapid.SampledFrom([]int{0, 15, 20, 60}).Draw(t, "paid break")) * time.Minute,
		RoundTo:     time.Duration(rapid.SampledFrom([]int{0, 5, 6, 15}).Draw(t, "round to")) * time.Minute,
		ToOverhead:  rapid.Bool().Draw(t, "to overhead"),
	}
	if r.WeeklyAfter+r.DailyAfter > 0 {
		r.Percent = rapid.SampledFrom([]int64{101, 150, 200}).Draw(t, "percent")
	}
	return r
}

// someWeek is any week: of 168, 167 or 169 hours, with spells in it and around it.
func someWeek(t *rapid.T) labour.Workweek {
	newYork := zone("America/New_York")
	monday := rapid.SampledFrom([]time.Time{local(newYork, 3, 9, 0, 0), local(newYork, 3, 2, 0, 0), local(newYork, 10, 26, 0, 0)}).Draw(t, "week")
	w := labour.Workweek{From: monday, To: monday.AddDate(0, 0, 7), Zone: newYork, Other: money.Amount(rapid.Int64Range(0, 500_00).Draw(t, "other"))}
	perHour := money.Amount(rapid.Int64Range(0, 60_00).Draw(t, "per hour"))
	for at := w.From.Add(-2 * time.Hour); at.Before(w.To.Add(time.Hour)); {
		gaps := []int64{0, 3 * 60_000, 15 * 60_000, 8 * 3600_000, rapid.Int64Range(0, 20*3600_000).Draw(t, "any gap")}
		start := at.Add(time.Duration(rapid.SampledFrom(gaps).Draw(t, "gap")) * time.Millisecond)
		at = start.Add(time.Duration(rapid.Int64Range(1, 12*3600_000).Draw(t, "length")) * time.Millisecond)
		s := labour.Spell{PerHour: perHour, Paused: rapid.Bool().Draw(t, "paused"), Job: rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "job"), Part: rapid.SampledFrom([]string{"", "p"}).Draw(t, "part")}
		w.Spells = append(w.Spells, cutAt(s, start, at, w.From, w.To)...)
	}
	return w
}

// cutAt is a spell, cut at the ends of the week, each part paid by its time.
func cutAt(s labour.Spell, start, end time.Time, cuts ...time.Time) (all []labour.Spell) {
	for _, cut := range append(cuts, end) {
		if !cut.After(start) || cut.After(end) {
			continue
		}
		part := s
		part.Start, part.End, part.Paused = start, cut, s.Paused && cut.Equal(end)
		part.Pay = money.MulDiv(s.PerHour, int64(cut.Sub(start)), int64(time.Hour))
		all = append(all, part)
		start = cut
	}
	return all
}

// Whatever is worked under whatever rule: shares add up, nothing is below zero, there is no overtime at
// or under the threshold, and hours that count by the day do not count by the week.
func TestRule_Due_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, w := someRule(t), someWeek(t)
		d, err := r.Due(w)
		if err != nil {
			t.Fatal(err)
		}
		if d.Worked < 0 || d.Breaks < 0 || d.Paid() < 0 || d.DailyOvertime < 0 || d.WeeklyOvertime < 0 || d.Straight < 0 || d.BreakPay < 0 || d.Premium < 0 || d.Remuneration() < 0 {
			t.Fatalf("something is below zero: %+v", d)
		}
		if d.Paid() > w.To.Sub(w.From) {
			t.Fatalf("%v are paid of a week of %v", d.Paid(), w.To.Sub(w.From))
		}
		if r.WeeklyAfter == 0 && d.WeeklyOvertime != 0 || r.WeeklyAfter > 0 && d.WeeklyOvertime != max(0, d.Paid()-d.DailyOvertime-r.WeeklyAfter) {
			t.Fatalf("%v of overtime by the week, of %v after %v", d.WeeklyOvertime, d.Paid(), r.WeeklyAfter)
		}
		if r.DailyAfter == 0 && d.DailyOvertime != 0 || d.DailyOvertime > max(0, d.Paid()-r.DailyAfter) {
			t.Fatalf("%v of overtime by the day, of %v after %v", d.DailyOvertime, d.Paid(), r.DailyAfter)
		}
		if d.Overtime() == 0 && d.Premium != 0 {
			t.Fatalf("a premium of %d for no overtime", d.Premium)
		}
		sharesAddUp(t, r, d)
		momentsAddUp(t, w, d)
		premiumIsNear(t, r, d)
	})
}

func sharesAddUp(t *rapid.T, r labour.Rule, d labour.Due) {
	var premium money.Amount
	var worked time.Duration
	for _, s := range d.Shares {
		premium += s.Premium
		worked += s.Worked
		if s.Premium < 0 || s.Worked <= 0 {
			t.Fatalf("a share of %+v", s)
		}
	}
	if r.ToOverhead && len(d.Shares) > 2 {
		t.Fatalf("shares of a premium to overhead: %+v", d.Shares)
	}
	if premium != d.Premium || worked != d.Worked {
		t.Fatalf("shares come to %d and %v, the week to %d and %v", premium, worked, d.Premium, d.Worked)
	}
}

func momentsAddUp(t *rapid.T, w labour.Workweek, d labour.Due) {
	var breaks, rounding money.Amount
	for i, m := range d.Beside {
		if m.At.Before(w.From) || m.At.After(w.To) || i > 0 && m.At.Before(d.Beside[i-1].At) {
			t.Fatalf("a moment outside of the week, or out of order: %+v", d.Beside)
		}
		if m.Rounding {
			rounding += m.Pay
		} else {
			breaks += m.Pay
		}
	}
	if breaks != d.BreakPay || rounding != d.RoundingPay {
		t.Fatalf("moments come to %d and %d, the week to %d and %d", breaks, rounding, d.BreakPay, d.RoundingPay)
	}
}

// premiumIsNear checks that the premium is within half a cent of the exact one.
func premiumIsNear(t *rapid.T, r labour.Rule, d labour.Due) {
	if d.Overtime() == 0 {
		return
	}
	exact := new(big.Rat).SetFrac64(int64(d.Overtime()), int64(d.Paid()))
	exact.Mul(exact, big.NewRat(int64(d.Remuneration())*(r.Percent-100), 100))
	if off := exact.Sub(exact, new(big.Rat).SetInt64(int64(d.Premium))); off.Abs(off).Cmp(big.NewRat(1, 2)) > 0 {
		t.Fatalf("a premium of %d is %s off", d.Premium, off.FloatString(4))
	}
}

// The order in which spells are told says nothing, and is left as it was.
func TestRule_Due_OrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, w := someRule(t), someWeek(t)
		want, err := r.Due(w)
		if err != nil {
			t.Fatal(err)
		}
		w.Spells = rapid.Permutation(w.Spells).Draw(t, "told")
		told := slices.Clone(w.Spells)
		got, err := r.Due(w)
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Fatalf("told otherwise, %v (-want +got):\n%s", err, diff)
		}
		if diff := cmp.Diff(told, w.Spells); diff != "" {
			t.Fatalf("the spells were moved:\n%s", diff)
		}
	})
}

// To cut a spell in two changes no hours and no overtime, be it at another job.
func TestRule_Due_CutsDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, w := someRule(t), someWeek(t)
		whole, err := r.Due(w)
		if err != nil {
			t.Fatal(err)
		}
		var cut []labour.Spell
		for _, s := range w.Spells {
			middle := s.Start.Add(time.Duration(rapid.Int64Range(0, int64(s.End.Sub(s.Start))).Draw(t, "cut")))
			cut = append(cut, cutAt(s, s.Start, s.End, middle)...)
		}
		w.Spells = cut
		parts, err := r.Due(w)
		if err != nil || parts.Worked != whole.Worked || parts.Breaks != whole.Breaks || parts.Rounding != whole.Rounding || parts.BreakPay != whole.BreakPay ||
			parts.DailyOvertime != whole.DailyOvertime || parts.WeeklyOvertime != whole.WeeklyOvertime {
			t.Fatalf("cut: %+v, %v\nwhole: %+v", parts, err, whole)
		}
	})
}
