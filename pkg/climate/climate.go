// Package climate is what the shop's air does to wood and to wet films: how much water it
// holds and could take up, where it condenses, how wet wood becomes in it, and whether it
// is fit for coating. Trade, pure.
//
//	reading ─▶ Air ─▶ dew point, deficit, absolute humidity      (air.go, vapour.go)
//	                ─▶ moisture of wood at rest, and on its way   (wood.go, seasoning.go)
//	  Air + surface ─▶ go or no-go, with the reason               (coating.go)
//
// Temperatures are °C, relative humidities percent (0 to 100), pressures hPa, moisture
// contents percent of the oven-dry mass.
package climate

import "tackfree/pkg/dimension"

// The air that the formulas are good for (WMO-No. 8 states its formula for −45 to 60 °C
// over water). Air drier than a tenth of a percent is no reading of a shop's.
const (
	minCelsius, maxCelsius   = -40, 60
	minHumidity, maxHumidity = 0.1, 100
)

// Air is the state of the air. It is made by NewAir or from a psychrometer, so it is
// always one that the formulas are good for; the zero Air is none.
type Air struct {
	celsius  float64
	humidity float64
}

// NewAir takes the temperature in °C (−40 to 60) and the relative humidity in percent
// (0.1 to 100). Fault: OUT_OF_RANGE.
func NewAir(celsius, humidity float64) (Air, error) {
	if err := checkCelsius("air temperature", celsius); err != nil {
		return Air{}, err
	}
	if err := dimension.Within("relative humidity", humidity, minHumidity, maxHumidity, "%"); err != nil {
		return Air{}, err
	}
	return Air{celsius, humidity}, nil
}

func checkCelsius(name string, celsius float64) error {
	return dimension.Within(name, celsius, minCelsius, maxCelsius, "°C")
}

// Celsius is the temperature.
func (a Air) Celsius() float64 { return a.celsius }

// Humidity is the relative humidity in percent.
func (a Air) Humidity() float64 { return a.humidity }
