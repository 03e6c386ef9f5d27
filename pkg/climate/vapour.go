package climate

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
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
// a pressure in hPa (0.19 to 200). Fault: OUT_OF_RANGE. Source: WMO-No. 8, annex 4.B.
func SaturationPressure(celsius float64) (float64, error) {
	if err := checkCelsius("temperature", celsius); err != nil {
		return 0, err
	}
	return saturation(celsius), nil
}

// VapourPressure is the vapour in the air as a pressure, hPa (above 0 to 200); 0 of the zero
// Air. Source: WMO-No. 8, annex 4.B, and the definition of relative humidity.
func (a Air) VapourPressure() float64 { return saturation(a.celsius) * a.humidity / 100 }

// Deficit is what the air could still take up, hPa (0 to 200): the vapour pressure deficit,
// to which the evaporation of water is near proportional (Dalton's law). The zero Air takes
// up nothing: 0.
func (a Air) Deficit() float64 {
	if a == (Air{}) {
		return 0
	}
	return saturation(a.celsius) * (1 - a.humidity/100)
}

// AbsoluteHumidity is the mass of water in the air, g/m³ (above 0 to 130), by the gas law
// with the constant of water vapour 461.5 J/(kg K) (value from memory); 0 of the zero Air.
func (a Air) AbsoluteHumidity() float64 { return 216.679 * a.VapourPressure() / (a.celsius + 273.15) }

// DewPoint is the temperature at which the air's water begins to condense, °C (−90 to 60,
// never above that of the air). The zero Air has no water that could: −Inf, which is no
// temperature. Source: the inverse of WMO-No. 8, annex 4.B.
func (a Air) DewPoint() float64 {
	if a == (Air{}) {
		return math.Inf(-1)
	}
	g := math.Log(a.humidity/100) + magnusM*a.celsius/(magnusTn+a.celsius)
	return magnusTn * g / (magnusM - g)
}

// AtTemperature is the same air, with no water added or taken, brought to another
// temperature (°C, −40 to 60). Faults: AIR_MISSING; OUT_OF_RANGE, also where its water would
// condense. Source: the definition of relative humidity; the pressure stays as it is.
func (a Air) AtTemperature(celsius float64) (Air, error) {
	if err := a.Check(); err != nil {
		return Air{}, err
	}
	if err := checkCelsius("temperature", celsius); err != nil {
		return Air{}, err
	}
	return NewAir(celsius, 100*a.VapourPressure()/saturation(celsius))
}

// FromWetBulb is the air of which a ventilated psychrometer shows the two temperatures, at
// an air pressure in hPa (500 to 1100; at sea level 1013). The dry bulb is from 0 to 60 °C,
// the wet bulb from where the air would be as dry as air can be, but not below 0 °C, to the
// dry bulb. Fault: OUT_OF_RANGE. Source: the psychrometer formula with Ferrel's constants
// (value from memory: Smithsonian Meteorological Tables), for a ventilated instrument whose
// wick is not frozen.
func FromWetBulb(dry, wet, pressure float64) (Air, error) {
	if err := dimension.Within("dry bulb", dry, 0, MaxCelsius, "°C"); err != nil {
		return Air{}, err
	}
	if err := dimension.Within("air pressure", pressure, 500, 1100, "hPa"); err != nil {
		return Air{}, err
	}
	lowest := lowestWetBulb(dry, pressure)
	if wet < lowest {
		return Air{}, fault.New(fault.Invalid, "OUT_OF_RANGE", "wet bulb is %.1f °C, which is too low for a dry bulb of %.1f °C; it must be from %.1f °C to %.1f °C.",
			wet, dry, math.Ceil(lowest*10)/10, dry).At("wet bulb")
	}
	if err := dimension.Within("wet bulb", wet, lowest, dry, "°C"); err != nil {
		return Air{}, err
	}
	return NewAir(dry, math.Min(MaxHumidity, math.Max(MinHumidity, psychrometer(dry, wet, pressure)))) // by rounding
}

// psychrometer is the relative humidity by the two bulbs, percent; below 0 where they cannot
// be so far apart.
func psychrometer(dry, wet, pressure float64) float64 {
	e := saturation(wet) - 0.00066*(1+0.00115*wet)*pressure*(dry-wet)
	return 100 * e / saturation(dry)
}

// lowestWetBulb is the wet bulb in the driest air of a temperature, °C, at least 0.
func lowestWetBulb(dry, pressure float64) float64 {
	low, high := 0.0, dry
	if psychrometer(dry, low, pressure) >= MinHumidity {
		return low
	}
	for high-low > 1e-9 { // the humidity only rises with the wet bulb
		if middle := (low + high) / 2; psychrometer(dry, middle, pressure) < MinHumidity {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}
