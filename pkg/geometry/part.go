package geometry

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Relief is how much more surface a face has than it looks flat.
type Relief struct {
	Factor float64 // 1 to 5
	StdDev float64
}

// The usual reliefs. Common practice, for planning only.
var (
	Flat    = Relief{Factor: 1}
	Moulded = Relief{Factor: 1.15, StdDev: 0.05}
	Fluted  = Relief{Factor: 1.4, StdDev: 0.1}
	Carved  = Relief{Factor: 1.6, StdDev: 0.2}
)

// Part is so many alike of a shape, with relief on it and openings cut out of it.
type Part struct {
	Shape    Shape
	Count    int // 1 to 200
	Relief   Relief
	Openings []Shape // of one of them; only what they take off
}

// Area is the surface of all of them. Faults: SHAPE_MISSING, OUT_OF_RANGE,
// OPENINGS_TOO_LARGE.
func (p Part) Area() (Estimate, error) {
	if p.Shape == nil {
		return Estimate{}, fault.New(fault.Invalid, "SHAPE_MISSING", "The part has no shape; say what it is and give its dimensions.").At("shape")
	}
	if err := dimension.Within("count", float64(p.Count), 1, 200, ""); err != nil {
		return Estimate{}, err
	}
	if err := dimension.Within("relief", p.Relief.Factor, 1, 5, ""); err != nil {
		return Estimate{}, err
	}
	if err := dimension.Within("spread of the relief", p.Relief.StdDev, 0, 2, ""); err != nil {
		return Estimate{}, err
	}
	e, err := p.less()
	if err != nil {
		return Estimate{}, err
	}
	return e.raised(p.Relief).Times(p.Count), nil
}

// less is one of them without its openings.
func (p Part) less() (Estimate, error) {
	e, err := Area(p.Shape)
	if err != nil {
		return Estimate{}, err
	}
	for _, o := range p.Openings {
		off, err := Area(o)
		if err != nil {
			return Estimate{}, err
		}
		e = Estimate{e.M2 - off.M2, math.Hypot(e.StdDev, off.StdDev)}
	}
	if e.M2 <= 0 {
		return Estimate{}, fault.New(fault.Invalid, "OPENINGS_TOO_LARGE", "The openings take off all there is; check their dimensions.").At("openings")
	}
	return e, nil
}

// raised multiplies two independent figures.
func (e Estimate) raised(r Relief) Estimate {
	return Estimate{e.M2 * r.Factor, math.Hypot(e.StdDev*r.Factor, e.M2*r.StdDev)}
}

// Sum is the surface of a composition: a table of a top, aprons and legs. Faults: those of
// Part.Area.
func Sum(parts ...Part) (Estimate, error) {
	var sum Estimate
	for _, p := range parts {
		e, err := p.Area()
		if err != nil {
			return Estimate{}, err
		}
		sum = sum.Plus(e)
	}
	return sum, nil
}
