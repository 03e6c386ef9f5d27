package coating_test

import (
	"math"
	"testing"
)

// Units of the sources: 1 mil, 1 ft², 1 US gallon and 1 lb/US gal, exactly.
const (
	mil    = 25.4
	ft2    = 0.09290304
	gallon = 3.785411784
	lbGal  = 453.59237 / gallon
)

// ft2PerGallon turns a spreading rate of the sources into m²/L.
const ft2PerGallon = ft2 / gallon

func near(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %v, want %v ± %v", what, got, want, within)
	}
}

func must[T any](t testing.TB) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func second[T any](_ T, err error) error { return err }
