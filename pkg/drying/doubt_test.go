package drying_test

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/drying"
)

// By hand: all read, the range is that of the factor, a spread of √(0.4² + 0.2²) = 0.447;
// none read, √(0.2 + 0.3²) = 0.539; half of it, √(0.2 + 0.15²) = 0.472; two
// thirds, √(0.2 + 0.2²) = 0.490.
func TestProduct_Forecast_DoubtOfTheWeather(t *testing.T) {
	p := drying.Product{Kinetics: drying.Kinetics{Carrier: drying.TwoPart}, FilmUm: 100}
	p.Stated[drying.DryToRecoat] = 8 * time.Hour
	last := drying.Reading{At: eight, Air: air(t, 25, 50)}
	usual, err := drying.CycleOf([]drying.Reading{last}, nil)
	if err != nil {
		t.Fatal(err)
	}
	ahead, err := steady(t, p.Kinetics, 25, 50).Ahead(p.Kinetics, last, usual, 48*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		curve  *drying.Curve
		spread float64
	}{
		"all read":                       {watched(t, p.Kinetics, 25, 50, 4, 24), 0.44721},
		"forecast hour by hour":          {ahead, 0.53852},
		"one reading":                    {steady(t, p.Kinetics, 25, 50), 0.53852},
		"read for four of eight hours":   {watched(t, p.Kinetics, 25, 50, 4, 4), 0.47170},
		"read every eight hours":         {watched(t, p.Kinetics, 25, 50, 8, 24), 0.47170},
		"dry amid a gap of twelve hours": {watched(t, p.Kinetics, 25, 50, 12, 24), 0.48990},
		"read just now, and laid before": {watched(t, p.Kinetics, 25, 50, 2, 8), 0.44721},
	} {
		w := forecast(t, p, c.curve, drying.Coat{At: eight})[drying.DryToRecoat]
		near(t, name+": likely", w.Likely.Sub(eight).Hours(), 8, 1e-6)
		near(t, name+": early", w.Early.Sub(eight).Hours(), 8*math.Exp(-1.28155*c.spread), 1e-3)
		near(t, name+": late", w.Late.Sub(eight).Hours(), 8*math.Exp(1.28155*c.spread), 1e-3)
	}
}

// Whatever was read and whatever is ahead: a window is in order, those of milestones come in
// the order of what is stated, and more readings of the same air only narrow it.
func TestProduct_Forecast_WindowsStayInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := shellac()
		p.Carrier = rapid.SampledFrom([]drying.Carrier{drying.Water, drying.Solvent, drying.Oil, drying.TwoPart}).Draw(t, "carrier")
		readings := weather(t)
		c, err := drying.Trace(p.Kinetics, readings)
		usual, err2 := drying.CycleOf(readings, nil)
		if errors.Join(err, err2) != nil {
			t.Fatal(err, err2)
		}
		if rapid.Bool().Draw(t, "ahead") {
			last := slices.MaxFunc(readings, func(a, b drying.Reading) int { return a.At.Compare(b.At) })
			if c, err = c.Ahead(p.Kinetics, last, usual, 48*time.Hour); err != nil {
				t.Fatal(err)
			}
		}
		windows := forecast2(t, p, c)
		before := drying.Window{Early: eight, Likely: eight, Late: eight}
		for _, m := range []drying.Milestone{drying.TackFree, drying.DryToRecoat, drying.Cured} {
			w := windows[m]
			if w.Early.After(w.Likely) || w.Likely.After(w.Late) || w.Early.Before(before.Early) || w.Likely.Before(before.Likely) || w.Late.Before(before.Late) {
				t.Fatalf("%s is %v, before it %v", m, w, before)
			}
			before = w
		}
	})
}
