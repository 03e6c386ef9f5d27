package dimension_test

import (
	"math"
	"testing"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Sizes: NIST Special Publication 811 and Handbook 44; 1.5 mil and 36 ft² are arithmetic
// on them, temperatures the definition of the scales.
func TestKind_Parse(t *testing.T) {
	for _, c := range []struct {
		kind dimension.Kind
		text string
		want float64
	}{
		{dimension.Length, "17 3/8in", 17.375 * 0.0254}, {dimension.Length, "17 3/8 in", 17.375 * 0.0254}, {dimension.Length, "3/4in", 0.01905},
		{dimension.Length, " 2.5 cm ", 0.025}, {dimension.Length, "6ft", 1.8288}, {dimension.Length, "1yd", 0.9144}, {dimension.Length, "900mm", 0.9},
		{dimension.Area, "36ft2", 3.34450944}, {dimension.Area, "1in2", 0.00064516}, {dimension.Area, "2 m2", 2},
		{dimension.Film, "1.5mil", 38.1}, {dimension.Film, "125um", 125}, {dimension.Film, "0.1 mm", 100},
		{dimension.Temperature, "70F", 190.0 / 9}, {dimension.Temperature, "20C", 20}, {dimension.Temperature, "-40F", -40}, {dimension.Temperature, "273.15K", 0}, {dimension.Temperature, "21 °C", 21},
		{dimension.Percent, "65", 65}, {dimension.Percent, "65%", 65}, {dimension.Volume, "1gal", 3.785411784}, {dimension.Volume, "128floz", 3.785411784},
		{dimension.Density, "1lb/gal", 119.82642731689664}, {dimension.Density, "1.2kg/L", 1200}, {dimension.Time, "90min", 1.5}, {dimension.Time, "2d", 48},
	} {
		got, err := c.kind.Parse(c.text)
		if err != nil || math.Abs(got-c.want) > 1e-12*math.Abs(c.want)+1e-12 {
			t.Errorf("Parse(%q) = %v, %v, want %v", c.text, got, err, c.want)
		}
	}
}

func TestKind_Parse_Refuses(t *testing.T) {
	for text, reason := range map[string]string{
		"": "UNIT_UNKNOWN", "17": "UNIT_UNKNOWN", "17 cubits": "UNIT_UNKNOWN", "in": "VALUE_MALFORMED", "1e3in": "UNIT_UNKNOWN", "NaNin": "UNIT_UNKNOWN",
		"17 3/0in": "VALUE_MALFORMED", "3/8/2in": "VALUE_MALFORMED", "17 3in": "VALUE_MALFORMED", "1.5 3/8in": "VALUE_MALFORMED", "1..5in": "VALUE_MALFORMED",
		"--1in": "VALUE_MALFORMED", "1-2in": "VALUE_MALFORMED", "/8in": "VALUE_MALFORMED", ".in": "VALUE_MALFORMED", "999999999999999999999in": "VALUE_MALFORMED",
	} {
		if v, err := dimension.Length.Parse(text); !fault.Is(err, reason) {
			t.Errorf("Parse(%q) = %v, %v, want %s", text, v, err, reason)
		}
	}
}

func TestWithin(t *testing.T) {
	for value, good := range map[float64]bool{0: true, 5: true, 10: true, -0.1: false, 10.1: false, math.Inf(1): false, math.Inf(-1): false} {
		if err := dimension.Within("depth", value, 0, 10, "mm"); (err == nil) != good {
			t.Errorf("Within(%v) = %v", value, err)
		}
		if err := dimension.Above("depth", value, 0, 10, "mm"); (err == nil) != (good && value != 0) {
			t.Errorf("Above(%v) = %v", value, err)
		}
	}
	err := dimension.Within("depth", math.NaN(), 0, 10, "mm")
	if f := fault.Of(err); f == nil || f.Text != "depth is NaN; it must be from 0 mm to 10 mm." || f.Fields[0].Path != "depth" {
		t.Errorf("Within(NaN) = %v", err)
	}
}

// Whatever is typed, it is a finite number or refused.
func FuzzKind_Parse(f *testing.F) {
	for _, seed := range []string{"17 3/8in", "1.5m", "-40 cm", "3/8", "1 1/", "∞m"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := dimension.Length.Parse(text)
		if math.IsNaN(v) || math.IsInf(v, 0) || (err != nil && v != 0) {
			t.Errorf("Parse(%q) = %v, %v", text, v, err)
		}
	})
}
