package coating

import "tackfree/pkg/dimension"

// WaterDensity is that of water at 20 °C, g/L (8.33 lb/US gal; value from memory).
const WaterDensity = 998.2

// Formula is what a coating is made of, in percent of its mass.
type Formula struct {
	DensityGL       float64 // of the coating, g/L; 500 to 3,000
	SolidsPercent   float64 // what stays; with water and exempt compounds at most 100
	WaterPercent    float64 // 0 to 100
	ExemptPercent   float64 // volatile, but not counted by the rules; 0 to 100
	ExemptDensityGL float64 // of those, g/L; 500 to 3,000, needed where there are any
}

// VOC are volatile organic compounds in g for each litre, 0 or more.
type VOC struct {
	Actual    float64 // of the coating: for emissions
	LessWater float64 // of the coating without its water and exempt compounds: for limits
}

// VOC computes both figures, g/L; without water and exempt compounds they are alike. Fault:
// OUT_OF_RANGE, also of a coating that is nothing but water and exempt compounds. Source: the definitions of SCAQMD Rule 1136, as in EPA Method 24.
func (f Formula) VOC() (VOC, error) {
	if err := f.check(); err != nil {
		return VOC{}, err
	}
	actual := (100 - f.SolidsPercent - f.WaterPercent - f.ExemptPercent) / 100 * f.DensityGL
	counted := 1 - f.WaterPercent/100*f.DensityGL/WaterDensity
	if f.ExemptPercent > 0 {
		counted -= f.ExemptPercent / 100 * f.DensityGL / f.ExemptDensityGL
	}
	if err := dimension.Above("volume without water and exempt compounds", 100*counted, 0, 100, "%"); err != nil {
		return VOC{}, err
	}
	return VOC{Actual: actual, LessWater: actual / counted}, nil
}

func (f Formula) check() error {
	if err := dimension.Within("density", f.DensityGL, 500, 3000, "g/L"); err != nil {
		return err
	}
	if err := dimension.Within("solids", f.SolidsPercent, 0, 100, "%"); err != nil {
		return err
	}
	if err := dimension.Within("water", f.WaterPercent, 0, 100, "%"); err != nil {
		return err
	}
	if err := dimension.Within("exempt compounds", f.ExemptPercent, 0, 100, "%"); err != nil {
		return err
	}
	if f.ExemptPercent > 0 {
		if err := dimension.Within("density of exempt compounds", f.ExemptDensityGL, 500, 3000, "g/L"); err != nil {
			return err
		}
	}
	return dimension.Within("solids, water and exempt compounds together", f.SolidsPercent+f.WaterPercent+f.ExemptPercent, 0, 100, "%")
}

// PerSolids turns the VOC of a litre of coating (g/L, without water and exempt compounds; 0
// to just below the density of the VOC) into g for each litre of its solids, by that density
// (g/L, 500 to 2,000). Fault: OUT_OF_RANGE. Source: Texas, 30 TAC 115.423, which takes 7.36 lb/US gal.
func PerSolids(voc, density float64) (float64, error) {
	if err := dimension.Within("density of the VOC", density, 500, 2000, "g/L"); err != nil {
		return 0, err
	}
	if err := dimension.Within("VOC", voc, 0, density*0.999, "g/L"); err != nil {
		return 0, err
	}
	return voc / (1 - voc/density), nil
}

// Emission is the mass of VOC, g, that a volume (L, 0 to 10,000) of a coating lets go, by
// its actual VOC (g/L, 0 to 2,000). Fault: OUT_OF_RANGE. Source: arithmetic; all of it is
// taken to leave in the end.
func Emission(litres, actual float64) (float64, error) {
	if err := dimension.Within("volume", litres, 0, 10_000, "L"); err != nil {
		return 0, err
	}
	if err := dimension.Within("VOC", actual, 0, 2_000, "g/L"); err != nil {
		return 0, err
	}
	return litres * actual, nil
}
