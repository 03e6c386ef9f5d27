package workflow

import (
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Reading is the air of a zone at an instant.
type Reading struct {
	Zone     id.ID
	At       time.Time
	Celsius  float64
	Humidity float64  // relative, percent
	Surface  *float64 // °C, of what is to be coated; nil: as the air
	Source   string   // who or what read it
	Actor    string   // who entered it
}

// Check refuses what no shop's air is: below −40 or above 60 °C, or outside 0.1 to 100 % of
// humidity, for which package climate is good. Fault: OUT_OF_RANGE, at the field below path,
// which is empty or ends in a dot.
func (r Reading) Check(path string) error {
	for _, v := range []struct {
		what, field      string
		value, low, high float64
		unit             string
	}{
		{"The temperature of the air", "celsius", r.Celsius, -40, 60, "°C"},
		{"The relative humidity", "humidity_percent", r.Humidity, 0.1, 100, "%"},
		{"The temperature of the surface", "surface_celsius", r.surface(), -40, 60, "°C"},
	} {
		if err := dimension.Within(v.what, v.value, v.low, v.high, v.unit); err != nil {
			return fault.Of(err).At(path + v.field)
		}
	}
	return nil
}

// surface is as the air where nobody read it.
func (r Reading) surface() float64 {
	if r.Surface == nil {
		return r.Celsius
	}
	return *r.Surface
}

// same reports whether two readings of one instant say the same.
func (r Reading) same(o Reading) bool {
	return r.Celsius == o.Celsius && r.Humidity == o.Humidity && (r.Surface == nil) == (o.Surface == nil) && r.surface() == o.surface()
}

// Hold leaves of several readings in one zone at one instant the last in the list, and
// counts those that only say again what the one before them said.
func Hold(readings []Reading) (held []Reading, repeats int) {
	type instant struct {
		zone id.ID
		at   time.Time
	}
	at := make(map[instant]int, len(readings))
	for _, r := range readings {
		i, there := at[instant{r.Zone, r.At}]
		switch {
		case !there:
			at[instant{r.Zone, r.At}] = len(held)
			held = append(held, r)
		case held[i].same(r):
			repeats++
		default:
			held[i] = r
		}
	}
	return held, repeats
}

// Conditions are what a reading means for wood and for coats.
type Conditions struct {
	climate.Verdict
	WoodMoisture float64 // percent; 0 in frost, of which the handbook says nothing
	Deficit      float64 // hPa
	Aged         string  // why the reading is too old; empty: it is not
}

// Conditions judges the reading by a product's limits. One that is too old to stand for the
// air now is no ground to say that it is fit. Fault: OUT_OF_RANGE, of limits that leave
// nothing.
func (r Reading) Conditions(l climate.Limits, now time.Time) (Conditions, error) {
	air, err := climate.NewAir(r.Celsius, r.Humidity)
	if err != nil {
		return Conditions{}, err
	}
	verdict, err := climate.Judge(air, r.surface(), l)
	if err != nil {
		return Conditions{}, err
	}
	moisture, err := air.EquilibriumMoisture()
	if err != nil {
		moisture = 0
	}
	c := Conditions{Verdict: verdict, WoodMoisture: moisture, Deficit: air.Deficit()}
	if now.Sub(r.At) > aged {
		c.Aged = "the last reading is of " + saidLike(r.At, now) + "; read the air again"
	}
	return c, nil
}

// Fit reports whether a coat can be laid.
func (c Conditions) Fit() bool { return c.Go() && c.Aged == "" }

// Against is all that stands against laying a coat.
func (c Conditions) Against() []string {
	if c.Aged == "" {
		return c.Reasons
	}
	return append([]string{c.Aged}, c.Reasons...)
}
