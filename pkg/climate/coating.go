package climate

import (
	"fmt"
	"strings"

	"tackfree/pkg/dimension"
)

// Limits are the conditions in which a product may be applied. The zero Limits leave none;
// where a product says nothing, take DefaultLimits.
type Limits struct {
	MinCelsius, MaxCelsius float64 // °C of the air and of the surface, −40 to 60, in this order
	MaxHumidity            float64 // percent, 1 to 100
	Spread                 float64 // °C that the surface must be above the dew point, 0 to 20
}

// DefaultLimits hold for most paints, where the product says nothing else. Sources:
// MIL-HDBK-1110, paragraph 7.4.1 (at most 90 °F) and 9.6.6 (5 °F above the dew point); US
// Army TM 43-0139, paragraph 5-31 (not below 50 °F); 85 % is the figure that ISO 12944-7
// and data sheets are quoted with.
var DefaultLimits = Limits{MinCelsius: 10, MaxCelsius: 32, MaxHumidity: 85, Spread: 3}

// Obstacle is a reason not to coat now.
type Obstacle string

// The obstacles.
const (
	AirTooCold     Obstacle = "air too cold"
	AirTooHot      Obstacle = "air too hot"
	SurfaceTooCold Obstacle = "surface too cold"
	SurfaceTooHot  Obstacle = "surface too hot"
	AirTooHumid    Obstacle = "air too humid"
	NearDewPoint   Obstacle = "surface too near the dew point"
)

// Verdict is whether the conditions are fit for coating, and why not. Judge makes it.
type Verdict struct {
	DewPoint  float64 // °C
	Spread    float64 // °C from the dew point up to the surface
	Obstacles []Obstacle
	Reasons   []string // a sentence for each obstacle
}

// Go reports whether nothing stands against it.
func (v Verdict) Go() bool { return len(v.Obstacles) == 0 }

// String is one sentence.
func (v Verdict) String() string {
	if v.Go() {
		return fmt.Sprintf("fit for coating: the surface is %.1f °C above the dew point of %.1f °C", v.Spread, v.DewPoint)
	}
	return "not fit for coating: " + strings.Join(v.Reasons, "; ")
}

// Judge judges the air and a surface in it (°C, −40 to 60) by the limits: all that stands
// against coating, or nothing. What is just at a limit is within it. Faults: AIR_MISSING;
// OUT_OF_RANGE, also of limits that leave nothing. Source: the rules of DefaultLimits.
func Judge(air Air, surface float64, l Limits) (Verdict, error) {
	if err := air.Check(); err != nil {
		return Verdict{}, err
	}
	if err := checkCelsius("surface temperature", surface); err != nil {
		return Verdict{}, err
	}
	if err := l.check(); err != nil {
		return Verdict{}, err
	}
	v := Verdict{DewPoint: air.DewPoint()}
	v.Spread = surface - v.DewPoint
	v.against(air.celsius < l.MinCelsius, AirTooCold, "the air is at %.1f °C and must be at least %.1f °C", air.celsius, l.MinCelsius)
	v.against(air.celsius > l.MaxCelsius, AirTooHot, "the air is at %.1f °C and must be at most %.1f °C", air.celsius, l.MaxCelsius)
	v.against(surface < l.MinCelsius, SurfaceTooCold, "the surface is at %.1f °C and must be at least %.1f °C", surface, l.MinCelsius)
	v.against(surface > l.MaxCelsius, SurfaceTooHot, "the surface is at %.1f °C and must be at most %.1f °C", surface, l.MaxCelsius)
	v.against(air.humidity > l.MaxHumidity, AirTooHumid, "the air is at %.0f %% relative humidity and must be at most %.0f %%", air.humidity, l.MaxHumidity)
	v.against(v.Spread < l.Spread, NearDewPoint, "the surface is %.1f °C above the dew point of %.1f °C and must be %.1f °C above it", v.Spread, v.DewPoint, l.Spread)
	return v, nil
}

func (l Limits) check() error {
	if err := checkCelsius("lowest temperature", l.MinCelsius); err != nil {
		return err
	}
	if err := dimension.Within("highest temperature", l.MaxCelsius, l.MinCelsius, MaxCelsius, "°C"); err != nil {
		return err
	}
	if err := dimension.Within("highest humidity", l.MaxHumidity, 1, 100, "%"); err != nil {
		return err
	}
	return dimension.Within("spread over the dew point", l.Spread, 0, 20, "°C")
}

func (v *Verdict) against(holds bool, o Obstacle, format string, args ...any) {
	if holds {
		v.Obstacles = append(v.Obstacles, o)
		v.Reasons = append(v.Reasons, fmt.Sprintf(format, args...))
	}
}
