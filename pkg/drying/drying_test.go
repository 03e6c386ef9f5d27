package drying_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/climate"
	"tackfree/pkg/drying"
)

// US Army TM 43-0139, paragraph 2-23: at the reference, the stated times are the times.
func TestProduct_Forecast_AsStated(t *testing.T) {
	w := forecast(t, shellac(), steady(t, shellac().Kinetics, 25, 50), drying.Coat{At: eight})
	for m, hours := range map[drying.Milestone]float64{drying.TackFree: 1, drying.DryToRecoat: 2.5, drying.Cured: 24} {
		near(t, m.String(), w[m].Likely.Sub(eight).Hours(), hours, 1e-6)
	}
	if len(w) != 3 {
		t.Errorf("%d milestones, want the three that are stated", len(w))
	}
}

// A marine coating note on two-part products: half the time at 30 °C, twice at 10 °C, of
// that at 20 °C.
func TestProduct_Forecast_TwoPart(t *testing.T) {
	p := drying.Product{Kinetics: drying.Kinetics{Carrier: drying.TwoPart, ReferenceCelsius: 20, Q10: 2}, FilmUm: 100}
	p.Stated[drying.Cured] = 24 * time.Hour
	for celsius, hours := range map[float64]float64{10: 48, 20: 24, 30: 12} {
		w := forecast(t, p, steady(t, p.Kinetics, celsius, 50), drying.Coat{At: eight})
		near(t, fmt.Sprintf("at %v °C", celsius), w[drying.Cured].Likely.Sub(eight).Hours(), hours, 1e-6)
	}
}

// By hand: with an exponent of 1.5 a film four times as thick takes eight times as long.
func TestProduct_Forecast_Film(t *testing.T) {
	w := forecast(t, shellac(), steady(t, shellac().Kinetics, 25, 50), drying.Coat{At: eight, FilmUm: 400})
	near(t, "tack-free", w[drying.TackFree].Likely.Sub(eight).Hours(), 8, 1e-6)
}

// By hand: the rate rises from 1 to 2 over two hours (dose 3), and stays.
func TestCurve_Dose(t *testing.T) {
	k := drying.Kinetics{Carrier: drying.TwoPart, Q10: 2}
	c, err := drying.Trace(k, []drying.Reading{{after(2), air(t, 35, 50)}, {eight, air(t, 25, 50)}, {after(2), air(t, 35, 50)}})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct{ from, to, want float64 }{{0, 2, 3}, {0, 1, 1.25}, {1, 2, 1.75}, {0, 3, 5}, {2, 4, 4}, {-1, 0, 1}, {-1, 3, 6}, {1, 1, 0}, {2, 1, 0}} {
		near(t, fmt.Sprintf("from %v to %v h", x.from, x.to), c.Dose(after(x.from), after(x.to)), x.want, 1e-9)
	}
	for dose, hours := range map[float64]float64{1.25: 1, 3: 2, 5: 3, 0: 0} {
		at, ok := c.When(eight, dose)
		if !ok {
			t.Fatalf("a dose of %v never comes", dose)
		}
		near(t, fmt.Sprintf("when %v", dose), at.Sub(eight).Hours(), hours, 1e-6)
	}
	if !c.Last().Equal(after(2)) {
		t.Errorf("Last = %v", c.Last())
	}
}

// In air that takes up no more water a water-borne film does not dry; nothing is promised.
func TestProduct_Forecast_Never(t *testing.T) {
	p := drying.Product{Kinetics: drying.Kinetics{Carrier: drying.Water}, FilmUm: 100}
	p.Stated[drying.TackFree] = time.Hour
	w := forecast(t, p, steady(t, p.Kinetics, 20, 100), drying.Coat{At: eight})[drying.TackFree]
	if !w.Likely.IsZero() || !w.Late.IsZero() || w.Passed(after(1000)) {
		t.Errorf("in wet air it is tack-free at %v", w)
	}
}

// weather is random weather, as readings that come in no order, some twice.
func weather(t *rapid.T) []drying.Reading {
	var all []drying.Reading
	for range rapid.IntRange(1, 12).Draw(t, "readings") {
		a, err := climate.NewAir(rapid.Float64Range(2, 38).Draw(t, "°C"), rapid.Float64Range(15, 98).Draw(t, "humidity"))
		if err != nil {
			t.Fatal(err)
		}
		r := drying.Reading{At: after(float64(rapid.IntRange(-5, 60).Draw(t, "hour"))), Air: a}
		all = append(all, r)
		if rapid.Bool().Draw(t, "twice") {
			all = append(all, r)
		}
	}
	return all
}

// A dose only grows and adds up; a higher dose is never reached earlier; readings may come
// in any order; and milestones come in the order in which they are stated.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := shellac()
		p.Carrier = rapid.SampledFrom([]drying.Carrier{drying.Water, drying.Solvent, drying.Oil, drying.TwoPart}).Draw(t, "carrier")
		readings := weather(t)
		c, err := drying.Trace(p.Kinetics, readings)
		if err != nil {
			t.Fatal(err)
		}
		last := 0.0
		for h := range 80 {
			d := c.Dose(eight, after(float64(h)))
			mid := c.Dose(eight, after(float64(h)/2)) + c.Dose(after(float64(h)/2), after(float64(h)))
			if d < last-1e-9 || math.Abs(mid-d) > 1e-9*(1+d) {
				t.Fatalf("dose at %d h is %v, before %v, in two parts %v", h, d, last, mid)
			}
			last = d
		}
		before := eight
		for dose := 0.5; dose < 40; dose *= 1.7 {
			at, ok := c.When(eight, dose)
			if !ok || at.Before(before) {
				t.Fatalf("a dose of %v comes at %v, a smaller one at %v", dose, at, before)
			}
			if got := c.Dose(eight, at); math.Abs(got-dose) > 1e-5*(1+dose) {
				t.Fatalf("when it is said to have %v it has %v", dose, got)
			}
			before = at
		}
		w := forecast2(t, p, c)
		if w[drying.TackFree].Likely.After(w[drying.DryToRecoat].Likely) || w[drying.DryToRecoat].Likely.After(w[drying.Cured].Likely) {
			t.Fatalf("out of order: %v", w)
		}
		if x := w[drying.Cured]; x.Early.After(x.Likely) || x.Likely.After(x.Late) {
			t.Fatalf("window %v", x)
		}
	})
}

func forecast2(t *rapid.T, p drying.Product, c *drying.Curve) map[drying.Milestone]drying.Window {
	w, err := p.Forecast(c, drying.Coat{At: eight})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func TestTrace_OrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seen := map[time.Time]bool{}
		readings := slices.DeleteFunc(weather(t), func(r drying.Reading) bool {
			was := seen[r.At]
			seen[r.At] = true
			return was
		})
		k := drying.Kinetics{Carrier: drying.Water}
		one, err := drying.Trace(k, readings)
		if err != nil {
			t.Fatal(err)
		}
		slices.Reverse(readings)
		other, err := drying.Trace(k, readings)
		if err != nil || one.Dose(eight, after(50)) != other.Dose(eight, after(50)) {
			t.Fatalf("%v and %v, %v", one.Dose(eight, after(50)), other.Dose(eight, after(50)), err)
		}
	})
}

// The zero Curve is of air that nobody read, and nothing is promised of it.
func TestCurve_Zero(t *testing.T) {
	for _, c := range []*drying.Curve{nil, {}} {
		if _, ever := c.When(eight, 1); ever || c.Dose(eight, after(9)) != 0 || !c.Last().IsZero() {
			t.Error("a film dries in air that nobody read")
		}
		if at, now := c.When(eight, 0); !now || !at.Equal(eight) {
			t.Errorf("a film that needs nothing is dry at %v, %t", at, now)
		}
	}
}
