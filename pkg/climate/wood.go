package climate

import (
	"math"

	"tackfree/pkg/dimension"
)

// MinWoodCelsius is the coldest air, °C, that EquilibriumMoisture and HumidityFor are good
// for: the handbook's table is of 30 to 200 °F, and air is never hotter than MaxCelsius.
const MinWoodCelsius = -1.2

// EquilibriumMoisture is the moisture content, percent of the oven-dry mass (0 to 30), that
// wood takes in this air if it lies long enough: about the same for all species. The air
// must be from −1.2 °C (30 °F) to 60 °C. Faults: AIR_MISSING, OUT_OF_RANGE. Source: USDA Forest Products
// Laboratory, Wood Handbook, FPL-GTR-190 (2010), equation 4-5 (Hailwood-Horrobin, two
// hydrates), its coefficients for °F; within 0.07 of its table 4-2.
func (a Air) EquilibriumMoisture() (float64, error) {
	if err := a.Check(); err != nil {
		return 0, err
	}
	if err := dimension.Within("air temperature", a.celsius, MinWoodCelsius, MaxCelsius, "°C"); err != nil {
		return 0, err
	}
	return sorption(a.celsius, a.humidity/100), nil
}

// sorption is the handbook's equation; h is a fraction.
func sorption(celsius, h float64) float64 {
	f := celsius*1.8 + 32
	w := 330 + 0.452*f + 0.00415*f*f
	k := 0.791 + 0.000463*f - 0.000000844*f*f
	k1 := 6.34 + 0.000775*f - 0.0000935*f*f
	k2 := 1.09 + 0.0284*f - 0.0000904*f*f
	kh := k * h
	return 1800 / w * (kh/(1-kh) + (k1*kh+2*k1*k2*kh*kh)/(1+k1*kh+k1*k2*kh*kh))
}

// HumidityFor is the relative humidity, percent (0.1 to 100), in which wood comes to a
// moisture content (percent of the oven-dry mass) at a temperature (−1.2 to 60 °C): the
// inverse of EquilibriumMoisture, to a millionth. Fault: OUT_OF_RANGE, also where no air
// makes wood so wet or so dry. Source: as of EquilibriumMoisture.
func HumidityFor(moisture, celsius float64) (float64, error) {
	if err := dimension.Within("temperature", celsius, MinWoodCelsius, MaxCelsius, "°C"); err != nil {
		return 0, err
	}
	low, high := float64(MinHumidity), float64(MaxHumidity)
	err := dimension.Within("moisture content", moisture, sorption(celsius, low/100), sorption(celsius, high/100), "%")
	if err != nil {
		return 0, err
	}
	for high-low > 1e-6 { // the equation only rises
		if middle := (low + high) / 2; sorption(celsius, middle/100) < moisture {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2, nil
}

// OvenDry turns a moisture content that is a share of the wet mass into one of the
// oven-dry mass, both in percent (0 to below 100). Fault: OUT_OF_RANGE. Source: Wood
// Handbook, equation 4-1, and algebra.
func OvenDry(wetBasis float64) (float64, error) {
	if err := dimension.Within("moisture content", wetBasis, 0, math.Nextafter(100, 0), "%"); err != nil {
		return 0, err
	}
	return 100 * wetBasis / (100 - wetBasis), nil
}
