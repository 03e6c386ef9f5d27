package climate_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/climate"
	"tackfree/pkg/fault"
)

// Reference: the saturation equation of Wagner and Pruss (1993), Pa, computed elsewhere;
// any Magnus form keeps within 0.4 %.
func TestSaturationPressure(t *testing.T) {
	for celsius, pascal := range map[float64]float64{0: 611.21, 5: 872.53, 10: 1228.11, 15: 1705.68, 20: 2339.19, 25: 3169.82, 30: 4246.92, 35: 5629.06, 40: 7385.11} {
		got, err := climate.SaturationPressure(celsius)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("at %v °C", celsius), got, pascal/100, 0.004*pascal/100)
	}
}

// See testdata/published/dew_point.csv for the sources.
func TestAir_DewPoint(t *testing.T) {
	_, rows := published(t, "dew_point.csv")
	for _, row := range rows {
		got := air(t, row[0], row[1]).DewPoint()
		near(t, fmt.Sprintf("at %v °C and %v %%", row[0], row[1]), got, row[2], 0.0006)
		near(t, fmt.Sprintf("at %v °C and %v %%, reference", row[0], row[1]), got, row[3], 0.07)
	}
	if len(rows) != 18 {
		t.Errorf("%d points, want 18", len(rows))
	}
}

// Computed from the same form elsewhere: deficit in hPa, absolute humidity in g/m³.
func TestAir_DeficitAndAbsoluteHumidity(t *testing.T) {
	for _, c := range []struct{ celsius, humidity, deficit, absolute float64 }{
		{10, 80, 2.452, 7.506}, {15, 70, 5.105, 8.957}, {20, 50, 11.663, 8.621}, {20, 85, 3.499, 14.655}, {25, 50, 15.800, 11.483}, {30, 40, 25.402, 12.104},
	} {
		a := air(t, c.celsius, c.humidity)
		near(t, fmt.Sprintf("deficit at %v °C and %v %%", c.celsius, c.humidity), a.Deficit(), c.deficit, 0.0006)
		near(t, fmt.Sprintf("water at %v °C and %v %%", c.celsius, c.humidity), a.AbsoluteHumidity(), c.absolute, 0.0006)
	}
}

// Cold outdoor air warmed up in the shop is dry (computed from the same form elsewhere).
func TestAir_AtTemperature(t *testing.T) {
	warm, err := air(t, 5, 80).AtTemperature(20)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "humidity", warm.Humidity(), 29.9, 0.05)
	if _, err := air(t, 20, 80).AtTemperature(10); !fault.Is(err, "OUT_OF_RANGE") {
		t.Errorf("AtTemperature below the dew point = %v, want OUT_OF_RANGE", err)
	}
}

// A training note on ambient conditions for coating work: dry bulb 21 °C, wet bulb 17 °C
// gives a dew point of 15 °C by its chart; 14.6 °C and 66.9 % by the formula.
func TestFromWetBulb(t *testing.T) {
	a, err := climate.FromWetBulb(21, 17, 1013)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "humidity", a.Humidity(), 66.9, 0.05)
	near(t, "dew point", a.DewPoint(), 14.6, 0.05)
	if a, err = climate.FromWetBulb(20, 20, 1013); err != nil || math.Abs(a.Humidity()-100) > 1e-9 {
		t.Errorf("both bulbs alike = %v, %v, want 100 %%", a.Humidity(), err)
	}
}

func TestAir_DewPoint_IsWhereItCondenses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, err := climate.NewAir(rapid.Float64Range(-5, 45).Draw(t, "°C"), rapid.Float64Range(5, 100).Draw(t, "humidity"))
		if err != nil {
			t.Fatal(err)
		}
		p, err := climate.SaturationPressure(a.DewPoint())
		if err != nil || math.Abs(p-a.VapourPressure()) > 1e-9*p {
			t.Fatalf("at its dew point air holds %v, %v, and has %v", p, err, a.VapourPressure())
		}
	})
}

// By hand: at 6.1 °C water's saturation is 9.41 hPa, and 13.9 °C between the bulbs take off
// 0.673 × 13.9 = 9.36; at 6.0 °C nothing is left. What is below is too low, and no humidity.
func TestFromWetBulb_TooLow(t *testing.T) {
	_, err := climate.FromWetBulb(20, 0, 1013)
	if f := fault.Of(err); f == nil || f.Reason != "OUT_OF_RANGE" || f.Fields[0].Path != "wet bulb" ||
		!strings.Contains(f.Text, "too low for a dry bulb of 20.0 °C; it must be from 6.1 °C to 20.0 °C") {
		t.Errorf("a wet bulb of 0 °C = %v", err)
	}
	rapid.Check(t, func(t *rapid.T) {
		dry := rapid.Float64Range(0, 60).Draw(t, "dry")
		wet := dry * rapid.Float64Range(0, 1).Draw(t, "share")
		a, err := climate.FromWetBulb(dry, wet, 1013)
		if f := fault.Of(err); err != nil && (f == nil || f.Fields[0].Path != "wet bulb") || err == nil && (a.Celsius() != dry || a.DewPoint() > wet+0.01) {
			t.Fatalf("bulbs of %v and %v = %v, %v", dry, wet, a, err)
		}
	})
}

// The zero Air is none: nothing is computed of it, and no figure of it looks like one.
func TestAir_Zero(t *testing.T) {
	var none climate.Air
	board := climate.Board{ThicknessM: 0.02}
	for name, err := range map[string]error{
		"check": none.Check(), "judge": second(climate.Judge(none, 20, climate.DefaultLimits)), "wood": second(none.EquilibriumMoisture()),
		"warmed": second(none.AtTemperature(20)), "board": second(board.MoistureAfter(30, none, time.Hour)), "time": second(board.TimeTo(30, 10, none)),
	} {
		if !fault.Is(err, "AIR_MISSING") {
			t.Errorf("%s of no air = %v, want AIR_MISSING", name, err)
		}
	}
	if none.VapourPressure() != 0 || none.Deficit() != 0 || none.AbsoluteHumidity() != 0 || !math.IsInf(none.DewPoint(), -1) {
		t.Errorf("no air holds %v hPa, %v g/m³, takes up %v hPa and has a dew point of %v", none.VapourPressure(), none.AbsoluteHumidity(), none.Deficit(), none.DewPoint())
	}
	if err := air(t, 0, 50).Check(); err != nil {
		t.Errorf("air at freezing = %v", err)
	}
}

func TestAir_Refuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, err := range map[string]error{
		"NaN °C": second(climate.NewAir(nan, 50)), "infinite °C": second(climate.NewAir(inf, 50)), "below absolute zero": second(climate.NewAir(-300, 50)),
		"humidity over 100": second(climate.NewAir(20, 100.1)), "humidity below 0": second(climate.NewAir(20, -1)), "NaN humidity": second(climate.NewAir(20, nan)),
		"saturation": second(climate.SaturationPressure(-inf)), "wet above dry": second(climate.FromWetBulb(20, 21, 1013)), "air pressure": second(climate.FromWetBulb(20, 18, 0)),
		"no water left": second(climate.FromWetBulb(40, 5, 1013)), "inverse": second(climate.HumidityFor(60, 20)), "inverse NaN": second(climate.HumidityFor(nan, 20)),
		"inverse too hot": second(climate.HumidityFor(8, 99)), "dry bulb in frost": second(climate.FromWetBulb(-5, -6, 1013)), "NaN wet bulb": second(climate.FromWetBulb(20, nan, 1013)), "frozen wood": second(air(t, -10, 50).EquilibriumMoisture()), "wet basis": second(climate.OvenDry(100)),
	} {
		if f := fault.Of(err); f == nil || f.Reason != "OUT_OF_RANGE" || len(f.Fields) != 1 || f.Fields[0].Path == "" {
			t.Errorf("%s = %v, want OUT_OF_RANGE that names the argument", name, err)
		}
	}
}
