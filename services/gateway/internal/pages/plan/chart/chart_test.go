package chart_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/services/gateway/internal/pages/plan/chart"
)

var monday = time.Date(2026, 3, 16, 0, 0, 0, 0, time.UTC)

func at(minutes int) time.Time { return monday.Add(time.Duration(minutes) * time.Minute) }

func span(from, to int) chart.Span { return chart.Span{From: at(from), To: at(to)} }

const minutesOfADay = 24 * 60

// shift is a day's work from eight to half past four with a break at noon.
func shift(day int) []chart.Span {
	m := day * minutesOfADay
	return []chart.Span{span(m+8*60, m+12*60), span(m+12*60+30, m+16*60+30)}
}

func week() (out []chart.Span) {
	for day := range 5 {
		out = append(out, shift(day)...)
	}
	return out
}

func TestNewAxis_FoldsNightsAndWeekends(t *testing.T) {
	a := chart.NewAxis(span(0, 7*minutesOfADay), week(), 100, 1000)
	folds, scaled := 0, 0
	for _, s := range a.Segments {
		if s.Folded {
			folds++
			if s.W != 18 {
				t.Errorf("a fold of %v is %d wide, want 18", s.To.Sub(s.From), s.W)
			}
			continue
		}
		scaled++
		if s.From.Hour() != 8 || s.To.Hour() != 17 {
			t.Errorf("to scale from %v to %v, want 8 to 17 o'clock: the break is not folded", s.From, s.To)
		}
	}
	if folds != 6 || scaled != 5 {
		t.Errorf("%d folds and %d days, want 6 and 5", folds, scaled)
	}
	if a.X(at(10*60)) != a.X(at(9*60))+(a.X(at(12*60))-a.X(at(9*60)))/3 {
		t.Error("an hour is not as wide as the next")
	}
}

func TestNewAxis_WithNothingBusyIsToScale(t *testing.T) {
	a := chart.NewAxis(span(0, minutesOfADay), nil, 0, 240)
	if len(a.Segments) != 1 || a.X(at(12*60)) != 120 {
		t.Errorf("noon is at %d of %v, want 120", a.X(at(12*60)), a.Segments)
	}
}

func someSpans(t *rapid.T) (out []chart.Span) {
	for range rapid.IntRange(0, 40).Draw(t, "spans") {
		from := rapid.IntRange(-600, 21*minutesOfADay).Draw(t, "from")
		out = append(out, span(from, from+rapid.IntRange(0, 700).Draw(t, "long")))
	}
	return out
}

// inverse is as the page's script finds the time of a place.
func inverse(a chart.Axis, x float64) time.Time {
	for _, s := range a.Segments {
		if s.W > 0 && x < float64(s.X+s.W) {
			return s.From.Add(time.Duration((x - float64(s.X)) / float64(s.W) * float64(s.To.Sub(s.From))))
		}
	}
	return a.Span().To
}

// Whatever is busy: the segments cover the span and the width without a gap, later is never further left,
// and the time of a place has that place.
func TestAxis_IsMonotoneAndHasAnInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		within := span(0, rapid.IntRange(60, 21*minutesOfADay).Draw(t, "minutes"))
		a := chart.NewAxis(within, someSpans(t), 100, 1000)
		x, from := 100, within.From
		for _, s := range a.Segments {
			if s.X != x || s.W < 0 || !s.From.Equal(from) || !s.From.Before(s.To) {
				t.Fatalf("a gap before %+v, want %d and %v", s, x, from)
			}
			x, from = s.X+s.W, s.To
		}
		if x != 1100 || !from.Equal(within.To) {
			t.Fatalf("it ends at %d and %v, want 1100 and %v", x, from, within.To)
		}
		one, other := at(rapid.IntRange(-99, 40000).Draw(t, "one")), at(rapid.IntRange(-99, 40000).Draw(t, "other"))
		if one.Before(other) && a.X(one) > a.X(other) {
			t.Fatalf("%v is right of %v", one, other)
		}
		place := rapid.IntRange(100, 1099).Draw(t, "place")
		if got := a.X(inverse(a, float64(place)+0.5)); got < place-1 || got > place+1 {
			t.Fatalf("the time of %d is at %d", place, got)
		}
	})
}

func someWorks(t *rapid.T) (out []chart.Work) {
	for i := range rapid.IntRange(0, 40).Draw(t, "works") {
		from := rapid.IntRange(0, 5*minutesOfADay).Draw(t, "from")
		w := chart.Work{Key: fmt.Sprint(i), Lane: rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "lane"), Label: "12 sand the top", Span: span(from, from+rapid.IntRange(1, 500).Draw(t, "long"))}
		if rapid.Bool().Draw(t, "dries") {
			w.Dry = w.To.Add(time.Duration(rapid.IntRange(1, 3000).Draw(t, "dry")) * time.Minute)
		}
		out = append(out, w)
	}
	return out
}

// Whatever is planned: no bar lies on another, and none is outside its lane or the drawing.
func TestDraw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lanes := []chart.Lane{{Key: "a", Name: "Anselm", Present: week()}, {Key: "b"}, {Key: "c"}}
		works, hangs := someWorks(t), rapid.Bool().Draw(t, "hangs")
		c := chart.Draw(span(0, 5*minutesOfADay), lanes, works, week(), at(9*60), time.FixedZone("", -5*3600), hangs)
		bars, foot := 0, c.Top
		for _, b := range c.Bands {
			if b.Y != foot {
				t.Fatalf("lane %s is at %d, want %d", b.Key, b.Y, foot)
			}
			foot += b.H
			bars += len(b.Bars)
			apart(t, b, hangs)
			for _, bar := range b.Bars {
				if bar.X < c.Left || bar.X+bar.W > c.Right || bar.Y < b.Y || bar.Y+bar.H > b.Y+b.H || bar.Tail.X+bar.Tail.W > c.Right || bar.Tail.Y+bar.Tail.H > b.Y+b.H {
					t.Fatalf("a bar is out of its lane: %+v", bar)
				}
			}
		}
		drawn := 0
		for _, w := range works {
			if w.From.Before(at(5 * minutesOfADay)) {
				drawn++
			}
		}
		if bars != drawn || foot > c.Height {
			t.Fatalf("%d bars of %d works", bars, drawn)
		}
	})
}

// apart fails where two works at once, or where drying takes room of its own what dries, have one row.
func apart(t *rapid.T, b chart.Band, hangs bool) {
	for i, one := range b.Bars {
		end := one.To
		if hangs && one.Dry.After(end) {
			end = one.Dry
		}
		for _, other := range b.Bars[i+1:] {
			if one.Y == other.Y && other.From.Before(end) {
				t.Fatalf("%+v lies on %+v", other, one)
			}
		}
	}
}

// A bar that rests over the weekend does not unfold it.
func TestDraw_FoldsUnderWhatRests(t *testing.T) {
	rests := chart.Work{Key: "1", Lane: "a", Span: span(15*60, 4*minutesOfADay+9*60)}
	c := chart.Draw(span(0, 5*minutesOfADay), []chart.Lane{{Key: "a"}}, []chart.Work{rests}, append(shift(0), shift(4)...), at(0), time.UTC, false)
	folds := 0
	for _, s := range c.Axis.Segments {
		if s.Folded {
			folds++
		}
	}
	if folds != 3 || len(c.Bands[0].Bars) != 1 {
		t.Errorf("%d folds in %+v, want 3: a morning, a weekend, an evening", folds, c.Axis.Segments)
	}
}

func TestDraw_MarksDaysAndHoursOfTheShop(t *testing.T) {
	zone := time.FixedZone("", -5*3600)
	var present []chart.Span
	for _, s := range week() {
		present = append(present, chart.Span{From: s.From.Add(5 * time.Hour), To: s.To.Add(5 * time.Hour)})
	}
	c := chart.Draw(span(5*60, 7*minutesOfADay), []chart.Lane{{Key: "a", Present: present}}, nil, present, at(0), zone, false)
	if c.NowX != 0 {
		t.Errorf("now is at %d, before all", c.NowX)
	}
	days, lastDay, lastHour := 0, -99, -99
	for _, m := range c.Ticks {
		last := &lastHour
		if m.Day {
			days, last = days+1, &lastDay
			if m.At.Hour() != 8 {
				t.Errorf("a day begins at %v, want eight", m.At)
			}
		}
		if m.At.Minute() != 0 || m.X-*last < 40 {
			t.Errorf("marks are not at full hours or too near: %+v after %d", m, *last)
		}
		*last = m.X
	}
	if days != 5 || !c.Folded {
		t.Errorf("%d days, folded %t; want 5, true", days, c.Folded)
	}
}
