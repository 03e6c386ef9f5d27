package workflow_test

import (
	"math"
	"testing"

	"tackfree/pkg/climate"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

func TestReading_Check(t *testing.T) {
	surface := func(v float64) *float64 { return &v }
	for _, test := range []struct {
		r    workflow.Reading
		want string
	}{
		{workflow.Reading{Celsius: -40, Humidity: 0.1}, ""},
		{workflow.Reading{Celsius: 60, Humidity: 100, Surface: surface(60)}, ""},
		{workflow.Reading{Celsius: 60.1, Humidity: 50}, "readings[3].celsius"},
		{workflow.Reading{Celsius: math.NaN(), Humidity: 50}, "readings[3].celsius"},
		{workflow.Reading{Celsius: 20, Humidity: 0}, "readings[3].humidity_percent"},
		{workflow.Reading{Celsius: 20, Humidity: math.Inf(1)}, "readings[3].humidity_percent"},
		{workflow.Reading{Celsius: 20, Humidity: 50, Surface: surface(-41)}, "readings[3].surface_celsius"},
		{workflow.Reading{Celsius: 20, Humidity: 50, Surface: surface(math.NaN())}, "readings[3].surface_celsius"},
	} {
		got := ""
		if f := fault.Of(test.r.Check("readings[3].")); f != nil && f.Reason == "OUT_OF_RANGE" {
			got = f.Fields[0].Path
		}
		if got != test.want {
			t.Errorf("Check(%+v) at %q, want %q", test.r, got, test.want)
		}
	}
}

// Of several readings at an instant the last one holds; what only says it again is counted.
func TestHold(t *testing.T) {
	bench, rack := id.New(), id.New()
	at := func(zone id.ID, hours, celsius float64) workflow.Reading {
		return workflow.Reading{Zone: zone, At: later(hours), Celsius: celsius, Humidity: 50}
	}
	held, repeats := workflow.Hold([]workflow.Reading{at(bench, 1, 20), at(bench, 1, 20), at(rack, 1, 20), at(bench, 2, 20), at(bench, 1, 21)})
	if repeats != 1 || len(held) != 3 || held[0] != at(bench, 1, 21) || held[1] != at(rack, 1, 20) || held[2] != at(bench, 2, 20) {
		t.Errorf("Hold = %v, %d repeats", held, repeats)
	}
}

func TestReading_Conditions(t *testing.T) {
	c, err := workflow.Reading{Celsius: 21, Humidity: 45}.Conditions(climate.DefaultLimits, nine)
	if err != nil || !c.Go() || c.WoodMoisture < 7.5 || c.WoodMoisture > 9 {
		t.Errorf("a mild day = %+v, %v; want fit for coating, and wood of about 8.4 %%", c, err)
	}
	for hours, fit := range map[float64]bool{0: true, 4: true, 4.1: false, 200 * 24: false} {
		c, err := workflow.Reading{At: nine, Celsius: 21, Humidity: 45}.Conditions(climate.DefaultLimits, later(hours))
		if err != nil || c.Fit() != fit || len(c.Against()) > 0 == fit || c.WoodMoisture == 0 {
			t.Errorf("a mild day %v hours ago = fit %t, against it %q, %v", hours, c.Fit(), c.Against(), err)
		}
	}
	cold := 9.0
	c, err = workflow.Reading{Celsius: 20, Humidity: 60, Surface: &cold}.Conditions(climate.DefaultLimits, nine)
	if err != nil || c.Go() || len(c.Obstacles) != 2 {
		t.Errorf("a cold table top = %+v, %v; want too cold, and near the dew point", c.Verdict, err)
	}
	c, err = workflow.Reading{Celsius: -10, Humidity: 60}.Conditions(climate.DefaultLimits, nine)
	if err != nil || c.WoodMoisture != 0 {
		t.Errorf("frost = %+v, %v; want no moisture of wood, of which the handbook says nothing", c, err)
	}
}

func TestZone_Check(t *testing.T) {
	for word, ok := range map[string]bool{"bench": true, "spray-booth": true, "": false, "Bench": false, "a--b": false, "climateZones/bench": false} {
		if err := (workflow.Zone{Word: word}).Check(); (err == nil) != ok || (err != nil && !fault.Is(err, "ZONE_NAME_MALFORMED")) {
			t.Errorf("Check(%q) = %v", word, err)
		}
	}
}
