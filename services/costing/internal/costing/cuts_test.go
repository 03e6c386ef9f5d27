package costing_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/services/costing/internal/costing"
)

// holds reports whether a line is in an excerpt, as the database reads it.
func holds(e costing.Excerpt, at time.Time, position int64) bool {
	return !at.Before(e.From) && at.Before(e.To) && position <= e.Until && (!at.Before(e.But.Month.To) || position > e.But.Position)
}

// February is closed at 100 and takes in January, March at 200: what comes later of them counts in the month
// after, be it closed or open.
func TestCuts_CountsOn(t *testing.T) {
	cuts := costing.NewCuts([]costing.Cut{{Month: monthOf(2), Position: 100}, {Month: monthOf(3), Position: 200}}, newYork)
	of := func(month time.Month, day int) time.Time { return time.Date(2026, month, day, 12, 0, 0, 0, newYork) }
	for name, c := range map[string]struct {
		at       time.Time
		position int64
		want     string
	}{
		"BeforeTheFirstClose":      {of(1, 5), 100, "2026-01-05"},
		"InIt":                     {of(2, 5), 7, "2026-02-05"},
		"LateInMarch":              {of(2, 5), 101, "2026-03-01"},
		"LateOfJanuaryInMarch":     {of(1, 5), 200, "2026-03-01"},
		"LateInApril":              {of(2, 5), 201, "2026-04-01"},
		"OfMarch":                  {of(3, 5), 150, "2026-03-05"},
		"OfMarchBeforeTheFirst":    {of(3, 5), 50, "2026-03-05"},
		"OfMarchLate":              {of(3, 5), 201, "2026-04-01"},
		"OfApril":                  {of(4, 5), 50, "2026-04-05"},
		"TheLastMomentOfMarch":     {monthOf(3).To.Add(-time.Millisecond), 200, "2026-03-31"},
		"TheLastMomentOfMarchLate": {monthOf(3).To.Add(-time.Millisecond), 201, "2026-04-01"},
		"TheFirstMomentOfApril":    {monthOf(3).To, 201, "2026-04-01"},
	} {
		t.Run(name, func(t *testing.T) {
			if got := cuts.CountsOn(c.at, c.position).Format(time.DateOnly); got != c.want {
				t.Errorf("CountsOn(%v, %d) = %s, want %s", c.at, c.position, got, c.want)
			}
		})
	}
	open := costing.NewCuts(nil, newYork)
	if got := open.CountsOn(of(2, 5), 300).Format(time.DateOnly); got != "2026-02-05" {
		t.Errorf("with no month closed, CountsOn = %s", got)
	}
}

// Whatever was closed when, each line is in what counts in one month and in no other, and that is the month of
// the day on which it counts.
func TestCuts_EachLineCountsInOneMonth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var all []costing.Cut
		month, position := monthOf(time.Month(rapid.IntRange(1, 4).Draw(t, "first"))), int64(0)
		for range rapid.IntRange(0, 4).Draw(t, "closed") {
			position += rapid.Int64Range(0, 20).Draw(t, "booked")
			all = append(all, costing.Cut{Month: month, Position: position})
			month = month.Next(newYork)
		}
		cuts := costing.NewCuts(all, newYork)
		at := monthOf(1).From.Add(time.Duration(rapid.Int64Range(0, int64(240*24*time.Hour)).Draw(t, "at")))
		taken := rapid.Int64Range(0, 100).Draw(t, "position")
		day := cuts.CountsOn(at, taken)
		for month := monthOf(1); month.First.Year() == 2026; month = month.Next(newYork) {
			want := month.First.Equal(costing.MonthOf(day, newYork).First)
			if got := holds(cuts.Of(month), at, taken); got != want {
				t.Errorf("of %v at %d, which counts on %s: what counts in %s holds it = %v", at, taken, day.Format(time.DateOnly), month, got)
			}
		}
	})
}
