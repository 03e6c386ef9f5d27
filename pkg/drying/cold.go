package drying

import (
	"math"

	"tackfree/pkg/climate"
)

// DefaultMinCelsius is the lowest temperature at which a film dries as its law says, °C,
// where the product states none: 40 °F. Source: MIL-HDBK-1110, paragraph 7.4.1, has no paint
// applied where it will go below that before it is dry, unless the maker allows it.
const DefaultMinCelsius = 4.4

// stall is in how many degrees below its lowest temperature a film slows down to half, and
// to half of that in as many more. Common practice, after a note on two-part marine
// coatings: the cure of some nearly stops below the stated minimum.
const stall = 1.0

// freezing is where water neither leaves a film nor lets it close, °C.
const freezing = 0

// cold is what is left of the rate below the lowest temperature: 1 from there on.
func (l law) cold(celsius float64) float64 {
	switch {
	case l.Carrier == Water && celsius <= freezing:
		return 0
	case celsius >= l.MinCelsius:
		return 1
	}
	return math.Exp2((celsius - l.MinCelsius) / stall)
}

// Lowest is the lowest temperature at which the law of temperature holds, °C: MinCelsius or
// its default, and above freezing for water. Faults: those of Rate but AIR_MISSING.
func (k Kinetics) Lowest() (float64, error) {
	l, err := k.law()
	if err != nil {
		return 0, err
	}
	if l.Carrier == Water {
		return math.Max(freezing, l.MinCelsius), nil
	}
	return l.MinCelsius, nil
}

// TooCold reports whether the air is colder than Lowest: a film may stay soft for good, and
// Rate and every time computed with it are not to be relied upon. Faults: those of Rate.
func (k Kinetics) TooCold(air climate.Air) (bool, error) {
	lowest, err := k.Lowest()
	if err != nil {
		return false, err
	}
	return air.Celsius() < lowest, air.Check()
}
