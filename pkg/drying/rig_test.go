package drying_test

import (
	"math"
	"testing"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/drying"
)

var eight = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

func after(hours float64) time.Time { return eight.Add(time.Duration(hours * float64(time.Hour))) }

func air(t testing.TB, celsius, humidity float64) climate.Air {
	t.Helper()
	a, err := climate.NewAir(celsius, humidity)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func near(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %v, want %v ± %v", what, got, want, within)
	}
}

// steady is a curve in air that stays as it is.
func steady(t testing.TB, k drying.Kinetics, celsius, humidity float64) *drying.Curve {
	t.Helper()
	c, err := drying.Trace(k, []drying.Reading{{At: eight, Air: air(t, celsius, humidity)}})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// watched is a curve in air that stays as it is and was read every so many hours, for days.
func watched(t testing.TB, k drying.Kinetics, celsius, humidity, every, hours float64) *drying.Curve {
	t.Helper()
	var readings []drying.Reading
	for h := 0.0; h <= hours; h += every {
		readings = append(readings, drying.Reading{At: after(h), Air: air(t, celsius, humidity)})
	}
	c, err := drying.Trace(k, readings)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// shellac is as US Army TM 43-0139, paragraph 2-23, has it: handled after 1 h, the next
// coat after 2 to 3 h, hard after 24 h. Its film is common practice.
func shellac() drying.Product {
	p := drying.Product{Kinetics: drying.Kinetics{Carrier: drying.Solvent}, FilmUm: 100}
	p.Stated[drying.TackFree], p.Stated[drying.DryToRecoat], p.Stated[drying.Cured] = time.Hour, 150*time.Minute, 24*time.Hour
	return p
}

func forecast(t testing.TB, p drying.Product, c *drying.Curve, coat drying.Coat) map[drying.Milestone]drying.Window {
	t.Helper()
	w, err := p.Forecast(c, coat)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func second[T any](_ T, err error) error { return err }
