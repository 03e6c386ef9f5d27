package climate

import (
	"math"

	"tackfree/pkg/dimension"
)

// The Magnus form of the saturation pressure over water, hPa: WMO-No. 8 (CIMO Guide, 2008),
// annex 4.B, after Sonntag 1990. Within 0.4 % of the reference equation from 0 to 40 °C.
const (
	magnusA  = 6.112
	magnusM  = 17.62
	magnusTn = 243.12
)

func saturation(celsius float64) float64 {
	return magnusA * math.Exp(magnusM*celsius/(magnusTn+celsius))
}

// SaturationPressure is the most vapour that air of a temperature (−40 to 60 °C) holds, as
// a pressure in hPa. Fault: OUT_OF_RANGE. Source: WMO-No. 8, annex 4.B.
func SaturationPressure(celsius float64) (float64, error) {
	if err := checkCelsius("temperature", celsius); err != nil {
		return 0, err
	}
	return saturation(celsius), nil
}

// VapourPressure is the vapour in the air as a pressure, hPa.
func (a Air) VapourPressure() float64 { return saturation(a.celsius) * a.humidity / 100 }

// Deficit is what the air could still take up, hPa: the vapour pressure deficit, to which
// the evaporation of water is near proportional (Dalton's law).
func (a Air) Deficit() float64 { return saturation(a.celsius) * (1 - a.humidity/100) }

// AbsoluteHumidity is the mass of water in the air, g/m³, by the gas law with the constant
// of water vapour 461.5 J/(kg K).
func (a Air) AbsoluteHumidity() float64 { return 216.679 * a.VapourPressure() / (a.celsius + 273.15) }

// DewPoint is the temperature in °C at which the air's water begins to condense. Source:
// the inverse of WMO-No. 8, annex 4.B.
func (a Air) DewPoint() float64 {
	g := math.Log(a.humidity/100) + magnusM*a.celsius/(magnusTn+a.celsius)
	return magnusTn * g / (magnusM - g)
}

// AtTemperature is the same air, with no water added or taken, brought to another
// temperature. Fault: OUT_OF_RANGE, also where its water would condense.
func (a Air) AtTemperature(celsius float64) (Air, error) {
	if err := checkCelsius("temperature", celsius); err != nil {
		return Air{}, err
	}
	return NewAir(celsius, 100*a.VapourPressure()/saturation(celsius))
}

// FromWetBulb is the air of which a ventilated psychrometer shows the two temperatures, at
// an air pressure in hPa (500 to 1100; at sea level 1013). Fault: OUT_OF_RANGE. Source: the
// psychrometer formula with Ferrel's constants (value from memory: Smithsonian
// Meteorological Tables), for a ventilated instrument.
func FromWetBulb(dry, wet, pressure float64) (Air, error) {
	if err := checkCelsius("dry bulb", dry); err != nil {
		return Air{}, err
	}
	if err := dimension.Within("wet bulb", wet, 0, dry, "°C"); err != nil {
		return Air{}, err
	}
	if err := dimension.Within("air pressure", pressure, 500, 1100, "hPa"); err != nil {
		return Air{}, err
	}
	e := saturation(wet) - 0.00066*(1+0.00115*wet)*pressure*(dry-wet)
	return NewAir(dry, 100*e/saturation(dry))
}
