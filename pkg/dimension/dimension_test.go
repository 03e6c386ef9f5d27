package dimension_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

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
		// As people type them.
		{dimension.Length, "17-3/8in", 17.375 * 0.0254}, {dimension.Length, `17 3/8"`, 17.375 * 0.0254}, {dimension.Length, "⅜in", 0.009525}, {dimension.Length, `17⅜"`, 17.375 * 0.0254},
		{dimension.Length, `17-⅜"`, 17.375 * 0.0254}, {dimension.Length, `-⅜"`, -0.009525}, {dimension.Length, "3⁄4 IN", 0.01905}, {dimension.Length, "3''", 0.0762}, {dimension.Length, "2 feet", 0.6096},
		{dimension.Length, `5' 3"`, 1.6002}, {dimension.Length, `5'3"`, 1.6002}, {dimension.Length, `5'-3"`, 1.6002}, {dimension.Length, "5ft 3in", 1.6002}, {dimension.Length, "5 FT 3 IN", 1.6002},
		{dimension.Length, `5′ 3½″`, 1.6129}, {dimension.Length, `-5' 3"`, -1.6002}, {dimension.Length, "6'", 1.8288}, {dimension.Length, `0' 3/4"`, 0.01905},
		{dimension.Temperature, "70f", 190.0 / 9}, {dimension.Temperature, "70 °f", 190.0 / 9}, {dimension.Temperature, "21c", 21}, {dimension.Temperature, "21 deg C", 21},
		{dimension.Film, "125µm", 125}, {dimension.Film, "125μm", 125}, {dimension.Film, "125 micron", 125}, {dimension.Film, "125 Microns", 125}, {dimension.Film, "1½ mils", 38.1},
		{dimension.Area, "36 ft²", 3.34450944}, {dimension.Area, "36 sq ft", 3.34450944}, {dimension.Volume, "2l", 2}, {dimension.Volume, "30ml", 0.03}, {dimension.Volume, "8 fl oz", 0.2365882365},
		{dimension.Density, "800g/l", 800}, {dimension.Time, "1½h", 1.5}, {dimension.Time, "2 hours", 2}, {dimension.Percent, "65 percent", 65},
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
		"17 11/8in": "VALUE_MALFORMED", "17 -3/8in": "VALUE_MALFORMED", "17--3/8in": "VALUE_MALFORMED", "--3/8in": "VALUE_MALFORMED", "3/4-1/2in": "VALUE_MALFORMED",
		"⅜5in": "VALUE_MALFORMED", "⅜⅜in": "VALUE_MALFORMED", "⅜/2in": "VALUE_MALFORMED", "1.5⅜in": "VALUE_MALFORMED", "1/⅜in": "VALUE_MALFORMED",
		`5' 13"`: "VALUE_MALFORMED", `5.5' 3"`: "VALUE_MALFORMED", `5 1/2' 3"`: "VALUE_MALFORMED", `5' 3`: "VALUE_MALFORMED", "5' 3cm": "VALUE_MALFORMED", `5' -3"`: "UNIT_UNKNOWN",
		`5' 3" 2"`: "VALUE_MALFORMED", "36ft2": "VALUE_MALFORMED", "17,5in": "UNIT_UNKNOWN",
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

// What the suite prints of a value can be typed again: in faults, and as people write
// inches on paper.
func TestKind_Parse_ReadsWhatIsPrinted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom([]struct {
			kind dimension.Kind
			unit string
		}{{dimension.Length, "m"}, {dimension.Area, "m²"}, {dimension.Film, "µm"}, {dimension.Temperature, "°C"}, {dimension.Percent, "%"},
			{dimension.Volume, "L"}, {dimension.Density, "g/L"}, {dimension.Time, "h"}}).Draw(t, "kind")
		value := rapid.Float64Range(0.001, 99_999).Draw(t, "value")
		_, said, _ := strings.Cut(dimension.Within("it", value, -2, -1, c.unit).Error(), "it is ")
		said, _, _ = strings.Cut(said, "; it must")
		got, err := c.kind.Parse(said)
		if err != nil || math.Abs(got-value) > 1e-5*value {
			t.Fatalf("%v is said to be %q, which is read as %v, %v", value, said, got, err)
		}
		feet, inches, sixteenths := rapid.IntRange(0, 60).Draw(t, "feet"), rapid.IntRange(0, 11).Draw(t, "inches"), rapid.IntRange(0, 15).Draw(t, "sixteenths")
		want := (12*float64(feet) + float64(inches) + float64(sixteenths)/16) * 0.0254
		for _, paper := range []string{`%d' %d %d/16"`, "%d ft %d-%d/16 in", "%d'-%d-%d/16″", "%dft%d %d⁄16in"} {
			paper = fmt.Sprintf(paper, feet, inches, sixteenths)
			if got, err := dimension.Length.Parse(paper); err != nil || math.Abs(got-want) > 1e-12 {
				t.Fatalf("%s = %v, %v, want %v", paper, got, err, want)
			}
		}
	})
}

// Whatever is typed, it is a finite number or refused.
func FuzzKind_Parse(f *testing.F) {
	for _, seed := range []string{"17 3/8in", "1.5m", "-40 cm", "3/8", "1 1/", "∞m", "17-3/8in", `17 3/8"`, "⅜in", `17⅜"`, `5' 3"`, `5'-3½"`, "5ft 3in", "70f", "12µm", "12μm", "12um", "12 micron", "⅜5in", "--3/8in", "\xff⅜"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, kind := range []dimension.Kind{dimension.Length, dimension.Film, dimension.Temperature} {
			v, err := kind.Parse(text)
			if math.IsNaN(v) || math.IsInf(v, 0) || (err != nil && v != 0) || (err == nil && !strings.ContainsAny(text, "0123456789½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞")) {
				t.Errorf("Parse(%q) = %v, %v", text, v, err)
			}
		}
	})
}

func BenchmarkKind_Parse(b *testing.B) {
	for b.Loop() {
		if _, err := dimension.Length.Parse(`5' 3 1/2"`); err != nil {
			b.Fatal(err)
		}
	}
}
