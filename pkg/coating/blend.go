package coating

import (
	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Part is one of the things that are mixed.
type Part struct {
	Litres      float64 // 0 to 10,000
	VOC         float64 // actual, g/L; 0 to 2,000
	WaterLitres float64 // of Litres, water and exempt compounds; 0 to Litres
}

// Blend is the VOC of what is mixed, g/L, volumes taken to add up. Faults: OUT_OF_RANGE;
// BLEND_OF_NOTHING, of no parts or of water alone. Source: the definitions of Formula.VOC.
func Blend(parts ...Part) (VOC, error) {
	var mass, volume, water float64
	for _, p := range parts {
		if err := p.check(); err != nil {
			return VOC{}, err
		}
		mass, volume, water = mass+p.VOC*p.Litres, volume+p.Litres, water+p.WaterLitres
	}
	if volume-water <= 0 {
		return VOC{}, fault.New(fault.Invalid, "BLEND_OF_NOTHING", "The mix has nothing in it but water; name at least one part that is a coating.").At("parts")
	}
	return VOC{Actual: mass / volume, LessWater: mass / (volume - water)}, nil
}

func (p Part) check() error {
	if err := dimension.Within("volume", p.Litres, 0, 10_000, "L"); err != nil {
		return err
	}
	if err := dimension.Within("VOC", p.VOC, 0, 2_000, "g/L"); err != nil {
		return err
	}
	return dimension.Within("water", p.WaterLitres, 0, p.Litres, "L")
}
