package coating

import (
	"math"
	"time"

	"tackfree/pkg/dimension"
)

// Ratio is how two components are mixed, in parts by volume, each above 0 and at most 1,000.
type Ratio struct{ A, B float64 }

func (r Ratio) check() error {
	if err := dimension.Above("parts of A", r.A, 0, 1000, ""); err != nil {
		return err
	}
	return dimension.Above("parts of B", r.B, 0, 1000, "")
}

// ByMass is the ratio by volume of what is mixed by mass: a and b are parts by mass (above 0
// to 1,000), the densities are of the two components (g/L, 500 to 3,000). Each part by
// volume is its part by mass divided by its density in kg/L, so that only their ratio means
// something. Fault: OUT_OF_RANGE. Source: the definition of density.
func ByMass(a, b, densityA, densityB float64) (Ratio, error) {
	if err := dimension.Within("density of A", densityA, 500, 3000, "g/L"); err != nil {
		return Ratio{}, err
	}
	if err := dimension.Within("density of B", densityB, 500, 3000, "g/L"); err != nil {
		return Ratio{}, err
	}
	if err := (Ratio{a, b}).check(); err != nil {
		return Ratio{}, err
	}
	return Ratio{a / densityA * 1000, b / densityB * 1000}, nil
}

// Split is how much of each component, L, makes up a volume (L, above 0 to 1,000); the two
// add up to it. Fault: OUT_OF_RANGE. Source: arithmetic; volumes are taken to add up.
func (r Ratio) Split(litres float64) (a, b float64, err error) {
	if err := r.check(); err != nil {
		return 0, 0, err
	}
	if err := dimension.Above("volume", litres, 0, 1000, "L"); err != nil {
		return 0, 0, err
	}
	a = litres * r.A / (r.A + r.B)
	return a, litres - a, nil
}

// PotLife is how long a mix can be used at a temperature (°C, 0 to 50) when the maker's time
// (above 0 to 7 days) is for another (°C, 0 to 50): it halves for each 10 °C more. Common
// practice; the reaction also
// warms a large batch by itself, which shortens it further. Fault: OUT_OF_RANGE.
func PotLife(stated time.Duration, statedCelsius, celsius float64) (time.Duration, error) {
	if err := dimension.Above("stated pot life", stated.Minutes(), 0, 7*24*60, "min"); err != nil {
		return 0, err
	}
	if err := dimension.Within("stated temperature", statedCelsius, 0, 50, "°C"); err != nil {
		return 0, err
	}
	if err := dimension.Within("temperature", celsius, 0, 50, "°C"); err != nil {
		return 0, err
	}
	return time.Duration(float64(stated) * math.Exp2((statedCelsius-celsius)/10)), nil
}

// Batches is in how many equal batches (1 to 1,000) a volume (L, above 0 to 1,000) must be
// mixed so that each is used up within its pot life (1 min to 7 days) at a pace (L/h, above
// 0 to 1,000). Fault: OUT_OF_RANGE, also of more batches than that. Source: arithmetic.
func Batches(litres, litresPerHour float64, potLife time.Duration) (int, error) {
	if err := dimension.Above("volume", litres, 0, 1000, "L"); err != nil {
		return 0, err
	}
	if err := dimension.Above("pace", litresPerHour, 0, 1000, "L/h"); err != nil {
		return 0, err
	}
	if err := dimension.Within("pot life", potLife.Minutes(), 1, 7*24*60, "min"); err != nil {
		return 0, err
	}
	n := litres / (litresPerHour * potLife.Hours())
	if err := dimension.Within("batches", n, 0, 1000, ""); err != nil {
		return 0, err
	}
	return int(math.Ceil(n - 1e-9)), nil
}
