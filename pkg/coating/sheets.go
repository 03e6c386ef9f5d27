package coating

import (
	"math"

	"tackfree/pkg/dimension"
)

// DefaultSheetM2 is the area that one sheet or disc sands before it is worn, m². Common
// practice for bare wood; it is less on old paint and more between coats.
const DefaultSheetM2 = 0.6

// Sheets is how many whole sheets or discs sand an area (m², above 0 to 10,000) a number of
// times (1 to 100), by the area that one of them is good for (m², 0.001 to 1,000; where the
// shop has none of its own, DefaultSheetM2). Fault: OUT_OF_RANGE. Source: arithmetic; what
// is begun counts as a whole one.
func Sheets(areaM2 float64, passes int, perSheetM2 float64) (int, error) {
	if err := dimension.Above("area", areaM2, 0, maxArea, "m²"); err != nil {
		return 0, err
	}
	if err := dimension.Within("passes", float64(passes), 1, maxCoats, ""); err != nil {
		return 0, err
	}
	if err := dimension.Within("area of a sheet", perSheetM2, 0.001, 1000, "m²"); err != nil {
		return 0, err
	}
	return int(math.Ceil(areaM2*float64(passes)/perSheetM2 - 1e-9)), nil
}

// Grams is the mass, g, of a volume (L, 0 to 10,000) by its density (g/L, 500 to 3,000).
// Fault: OUT_OF_RANGE. Source: the definition of density.
func Grams(litres, density float64) (float64, error) {
	if err := dimension.Within("volume", litres, 0, 10_000, "L"); err != nil {
		return 0, err
	}
	if err := dimension.Within("density", density, 500, 3000, "g/L"); err != nil {
		return 0, err
	}
	return litres * density, nil
}

// FluidOunces is a volume (L, 0 to 10,000) in US fluid ounces, of which 128 are a gallon of
// 3.785411784 L (NIST Handbook 44, appendix C). Fault: OUT_OF_RANGE.
func FluidOunces(litres float64) (float64, error) {
	if err := dimension.Within("volume", litres, 0, 10_000, "L"); err != nil {
		return 0, err
	}
	return litres * 128 / 3.785411784, nil
}
