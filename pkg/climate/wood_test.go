package climate_test

import (
	"fmt"
	"math"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/climate"
	"tackfree/pkg/fault"
)

// Source: Wood Handbook, FPL-GTR-190 (2010), table 4-2, all points of the ten rows kept.
func TestAir_EquilibriumMoisture_Handbook(t *testing.T) {
	headings, rows := published(t, "wood_moisture.csv")
	points := 0
	for _, row := range rows {
		for i, want := range row[1:] {
			humidity, err := strconv.ParseFloat(headings[i+1], 64)
			if err != nil {
				t.Fatal(err)
			}
			got, err := air(t, fahrenheit(row[0]), humidity).EquilibriumMoisture()
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprintf("at %v °F and %v %%", row[0], humidity), got, want, 0.07)
			points++
		}
	}
	if points != 190 {
		t.Errorf("%d points, want the 190 of the table", points)
	}
}

// Computed from the handbook's equation 4-5 elsewhere.
func TestAir_EquilibriumMoisture_Unrounded(t *testing.T) {
	for _, c := range []struct{ fahrenheit, humidity, want float64 }{
		{50, 30, 6.307}, {50, 90, 20.904}, {60, 65, 12.139}, {70, 50, 9.246}, {70, 65, 11.964}, {80, 70, 12.865}, {90, 40, 7.409}, {90, 90, 19.862},
	} {
		got, err := air(t, fahrenheit(c.fahrenheit), c.humidity).EquilibriumMoisture()
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("at %v °F and %v %%", c.fahrenheit, c.humidity), got, c.want, 0.0006)
	}
}

// Computed from the same equation elsewhere: the humidity for a moisture content at 70 °F.
func TestHumidityFor(t *testing.T) {
	for _, c := range []struct{ moisture, want float64 }{{6, 28.92}, {8, 41.97}, {10, 54.57}, {12, 65.17}, {15, 76.97}} {
		got, err := climate.HumidityFor(c.moisture, fahrenheit(70))
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("for %v %%", c.moisture), got, c.want, 0.006)
	}
}

func TestHumidityFor_IsTheInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		celsius := rapid.Float64Range(-1.1, 60).Draw(t, "°C")
		humidity := rapid.Float64Range(0.2, 99.9).Draw(t, "humidity")
		a, err := climate.NewAir(celsius, humidity)
		if err != nil {
			t.Fatal(err)
		}
		moisture, err := a.EquilibriumMoisture()
		if err != nil {
			t.Fatal(err)
		}
		back, err := climate.HumidityFor(moisture, celsius)
		if err != nil || math.Abs(back-humidity) > 1e-4 {
			t.Fatalf("HumidityFor(%v, %v) = %v, %v, want %v", moisture, celsius, back, err, humidity)
		}
	})
}

// Wood Handbook, equation 4-1, and algebra: a fifth of the wet mass is a quarter of the dry.
func TestOvenDry(t *testing.T) {
	for wet, want := range map[float64]float64{0: 0, 20: 25, 25: 100.0 / 3} {
		got, err := climate.OvenDry(wet)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("of %v %%", wet), got, want, 1e-12)
	}
}

// Crank, The Mathematics of Diffusion, gives a plane sheet's half-time as 0.049 l²/D (from
// memory; the same follows from his series).
func TestBoard_HalfTime(t *testing.T) {
	b := climate.Board{ThicknessM: 0.01, DiffusivityM2s: 1e-9}
	a := air(t, 20, 50)
	rest, err := a.EquilibriumMoisture()
	if err != nil {
		t.Fatal(err)
	}
	got, err := b.TimeTo(rest+20, rest+10, a)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "half-time in l²/D", got.Seconds()*1e-9/1e-4, 0.04919, 0.00005)
}

// Wood goes toward the air's moisture and never past it, further the longer it lies; and
// the time to a moisture is the time after which it has it.
func TestBoard_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := climate.Board{ThicknessM: rapid.Float64Range(0.001, 0.05).Draw(t, "thickness")}
		a, err := climate.NewAir(rapid.Float64Range(0, 40).Draw(t, "°C"), rapid.Float64Range(10, 95).Draw(t, "humidity"))
		if err != nil {
			t.Fatal(err)
		}
		start := rapid.Float64Range(0, 120).Draw(t, "start")
		rest, _ := a.EquilibriumMoisture()
		last := start
		for _, hours := range []float64{0, 0.1, 1, 5, 24, 200, 2000} {
			got, err := b.MoistureAfter(start, a, time.Duration(hours*float64(time.Hour)))
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got-rest) > math.Abs(last-rest)+1e-9 || (got-rest)*(start-rest) < 0 {
				t.Fatalf("after %v h it is at %v, before at %v, toward %v", hours, got, last, rest)
			}
			last = got
		}
		target := rest + (start-rest)*rapid.Float64Range(0.05, 0.95).Draw(t, "share")
		d, err := b.TimeTo(start, target, a)
		if err != nil {
			t.Fatal(err)
		}
		back, err := b.MoistureAfter(start, a, d)
		if err != nil || math.Abs(back-target) > 1e-4*(1+math.Abs(start-rest)) {
			t.Fatalf("after TimeTo it is at %v, %v, want %v", back, err, target)
		}
	})
}

func TestBoard_Refuses(t *testing.T) {
	a, nan := air(t, 20, 50), math.NaN()
	board := climate.Board{ThicknessM: 0.02}
	for name, err := range map[string]error{
		"no thickness": second(climate.Board{}.MoistureAfter(30, a, time.Hour)), "NaN thickness": second(climate.Board{ThicknessM: nan}.MoistureAfter(30, a, time.Hour)),
		"diffusivity": second(climate.Board{ThicknessM: 0.02, DiffusivityM2s: -1}.MoistureAfter(30, a, time.Hour)),
		"start":       second(board.MoistureAfter(-1, a, time.Hour)), "time": second(board.MoistureAfter(30, a, -time.Hour)),
		"never so dry": second(board.TimeTo(30, 5, a)), "wetter by drying": second(board.TimeTo(30, 31, a)), "NaN": second(board.TimeTo(30, nan, a)),
		"frozen": second(board.TimeTo(30, 20, air(t, -10, 50))),
	} {
		if !fault.Is(err, "OUT_OF_RANGE") {
			t.Errorf("%s = %v, want OUT_OF_RANGE", name, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }
