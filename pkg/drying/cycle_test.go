package drying_test

import (
	"testing"
	"time"

	"tackfree/pkg/drying"
)

// days are three days of a shop that is heated from 8 to 18.
func days(t testing.TB) (all []drying.Reading) {
	t.Helper()
	for h := range 72 {
		celsius := 12.0
		if hour := (8 + h) % 24; hour >= 8 && hour < 18 {
			celsius = 22
		}
		all = append(all, drying.Reading{At: after(float64(h)), Air: air(t, celsius, 50)})
	}
	return all
}

// What is laid in the evening is not dry as soon as the evening's air would have it: the
// night is cold.
func TestCurve_Ahead_KnowsTheNight(t *testing.T) {
	k := drying.Kinetics{Carrier: drying.TwoPart, Q10: 2}
	readings := days(t)[:58] // up to 17:00 of the third day
	c, err := drying.Trace(k, readings)
	if err != nil {
		t.Fatal(err)
	}
	usual, err := drying.CycleOf(readings, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	ahead, err := c.Ahead(k, readings[57], usual, 48*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	evening := c.Last()
	flat, _ := c.When(evening, 6)
	night, _ := ahead.When(evening, 6)
	if night.Sub(flat) < 3*time.Hour {
		t.Errorf("with the night ahead it is dry at %v, without at %v", night, flat)
	}
	if !ahead.Last().Equal(evening) || ahead.Dose(eight, evening) != c.Dose(eight, evening) {
		t.Error("what was read has changed")
	}
	again, err := ahead.Ahead(k, readings[57], usual, 48*time.Hour)
	if err != nil || again.Dose(eight, after(90)) != ahead.Dose(eight, after(90)) {
		t.Errorf("looking ahead twice is not looking ahead once: %v", err)
	}
}

// A heat wave is not over in an hour, and is forgotten after days.
func TestCurve_Ahead_FadesToTheUsual(t *testing.T) {
	k := drying.Kinetics{Carrier: drying.TwoPart, Q10: 2}
	hot := drying.Reading{At: after(72), Air: air(t, 32, 50)}
	usual, err := drying.CycleOf(days(t), time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	c, err := drying.Trace(k, append(days(t), hot))
	if err != nil {
		t.Fatal(err)
	}
	ahead, err := c.Ahead(k, hot, usual, 96*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the first hour, rates at 32 and a little below", ahead.Dose(after(72), after(73)), 1.58, 0.06)
	day := func(from float64) float64 { return ahead.Dose(after(from), after(from+24)) }
	near(t, "the fourth day against a usual one", day(72+72), c.Dose(after(0), after(24)), 0.12)
	if day(72) < day(96) || day(96) < day(120) {
		t.Errorf("days get %v, %v, %v", day(72), day(96), day(120))
	}
}

// Hours that nobody read are between their neighbours; a handful of readings make no cycle.
func TestCycleOf_Gaps(t *testing.T) {
	all := days(t)
	var day []drying.Reading // 8 to 17, then nothing until 2 in the morning
	for i, r := range all[:24] {
		if i < 10 || i >= 18 {
			day = append(day, r)
		}
	}
	k := drying.Kinetics{Carrier: drying.TwoPart, Q10: 2}
	dose := func(readings []drying.Reading) float64 {
		usual, err := drying.CycleOf(readings, time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		last := readings[len(readings)-1]
		c, err := drying.Trace(k, []drying.Reading{last})
		if err != nil {
			t.Fatal(err)
		}
		ahead, err := c.Ahead(k, last, usual, 48*time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		return ahead.Dose(last.At, last.At.Add(24*time.Hour))
	}
	whole, gaps := dose(all[:24]), dose(day)
	if gaps < whole-0.5 || gaps > whole+3 {
		t.Errorf("a day with gaps has %v, a whole one %v", gaps, whole)
	}
	near(t, "three readings at 22 °C", dose(all[:3]), 24*0.8123, 0.01) // 2^((22-25)/10)
}

// Without a zone days are those of UTC.
func TestCycleOf_NoZone(t *testing.T) {
	k := drying.Kinetics{Carrier: drying.TwoPart, Q10: 2}
	readings := days(t)
	last := readings[len(readings)-1]
	c, err := drying.Trace(k, readings)
	if err != nil {
		t.Fatal(err)
	}
	var doses []float64
	for _, zone := range []*time.Location{nil, time.UTC} {
		usual, err := drying.CycleOf(readings, zone)
		if err != nil {
			t.Fatal(err)
		}
		ahead, err := c.Ahead(k, last, usual, 48*time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		doses = append(doses, ahead.Dose(last.At, last.At.Add(24*time.Hour)))
	}
	near(t, "without a zone", doses[0], doses[1], 0)
}
