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

import (
	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// The air that the formulas are good for, °C and percent (WMO-No. 8 states its formula for
// −45 to 60 °C over water). Air drier than a tenth of a percent is no reading of a shop's.
const (
	MinCelsius  = -40
	MaxCelsius  = 60
	MinHumidity = 0.1
	MaxHumidity = 100
)

// Air is the state of the air. It is made by NewAir or from a psychrometer, so it is always
// one that the formulas are good for. The zero Air is none: whatever takes an Air and
// returns an error refuses it with AIR_MISSING, and Check does so by itself.
type Air struct {
	celsius  float64
	humidity float64
}

// Check refuses the zero Air, which nobody made of a temperature and a humidity. Fault:
// AIR_MISSING.
func (a Air) Check() error {
	if a == (Air{}) {
		return fault.New(fault.Invalid, "AIR_MISSING",
			"There is no air to go by; make it with NewAir, of a temperature and a relative humidity.").At("air")
	}
	return nil
}

// NewAir takes the temperature in °C (−40 to 60) and the relative humidity in percent
// (0.1 to 100). Fault: OUT_OF_RANGE.
func NewAir(celsius, humidity float64) (Air, error) {
	if err := checkCelsius("air temperature", celsius); err != nil {
		return Air{}, err
	}
	if err := dimension.Within("relative humidity", humidity, MinHumidity, MaxHumidity, "%"); err != nil {
		return Air{}, err
	}
	return Air{celsius, humidity}, nil
}

func checkCelsius(name string, celsius float64) error {
	return dimension.Within(name, celsius, MinCelsius, MaxCelsius, "°C")
}

// Celsius is the temperature, °C (−40 to 60); 0 of the zero Air.
func (a Air) Celsius() float64 { return a.celsius }

// Humidity is the relative humidity, percent (0.1 to 100); 0 of the zero Air, and of no other.
func (a Air) Humidity() float64 { return a.humidity }
