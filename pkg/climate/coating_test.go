package climate_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tackfree/pkg/climate"
	"tackfree/pkg/fault"
)

// The first two are of a training note on ambient conditions for coating work (paint; do
// not paint); the others follow from the rules that DefaultLimits cites.
func TestJudge(t *testing.T) {
	wet, err := climate.FromWetBulb(21, 17, 1013)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		air     climate.Air
		surface float64
		want    []climate.Obstacle
	}{
		"FourAboveDewPoint": {wet, 19, nil},
		"TwoAboveDewPoint":  {air(t, 16, 71), 13, []climate.Obstacle{climate.NearDewPoint}},
		"JustTooNear":       {air(t, 16, 71), 13.5, []climate.Obstacle{climate.NearDewPoint}},
		"HumidButFarEnough": {air(t, 21, 80), 21, nil},
		"SpreadGoesFirst":   {air(t, 20, 84), 20, []climate.Obstacle{climate.NearDewPoint}},
		"TooHumid":          {air(t, 20, 86), 23, []climate.Obstacle{climate.AirTooHumid}},
		"ColdRoom":          {air(t, 8, 50), 8, []climate.Obstacle{climate.AirTooCold, climate.SurfaceTooCold}},
		"PieceFromTheTruck": {air(t, 20, 40), 4, []climate.Obstacle{climate.SurfaceTooCold, climate.NearDewPoint}},
		"HotSun":            {air(t, 34, 30), 40, []climate.Obstacle{climate.AirTooHot, climate.SurfaceTooHot}},
		"AtEachLimit":       {air(t, 32, 50), 32, nil},
		"AtTheOtherLimit":   {air(t, 10, 50), 10, nil},
	} {
		v, err := climate.Judge(c.air, c.surface, climate.DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(v.Obstacles, c.want) || v.Go() != (c.want == nil) || len(v.Reasons) != len(c.want) {
			t.Errorf("%s: Judge = %v, %v, want %v", name, v.Obstacles, v, c.want)
		}
	}
}

func TestVerdict_SaysWhy(t *testing.T) {
	v, err := climate.Judge(air(t, 16, 71), 13, climate.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	const want = "the surface is 2.3 °C above the dew point of 10.7 °C and must be 3.0 °C above it"
	if !strings.Contains(v.String(), want) {
		t.Errorf("Verdict = %q, want it to say %q", v, want)
	}
}

func TestJudge_Refuses(t *testing.T) {
	a, d := air(t, 20, 50), climate.DefaultLimits
	for name, change := range map[string]func(l *climate.Limits, surface *float64){
		"surface":  func(_ *climate.Limits, s *float64) { *s = math.NaN() },
		"lowest":   func(l *climate.Limits, _ *float64) { l.MinCelsius = math.Inf(-1) },
		"highest":  func(l *climate.Limits, _ *float64) { l.MaxCelsius = 5 },
		"humidity": func(l *climate.Limits, _ *float64) { l.MaxHumidity = 0 },
		"spread":   func(l *climate.Limits, _ *float64) { l.Spread = -1 },
	} {
		l, surface := d, 20.0
		change(&l, &surface)
		if _, err := climate.Judge(a, surface, l); !fault.Is(err, "OUT_OF_RANGE") {
			t.Errorf("%s: Judge = %v, want OUT_OF_RANGE", name, err)
		}
	}
}
