package geometry

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Relief is how much more surface a face has than it looks flat.
type Relief struct {
	Factor float64 // 1 to 5
	StdDev float64 // of the factor, 0 to 2
}

// The usual reliefs. Common practice, for planning only.
var (
	Flat    = Relief{Factor: 1}
	Moulded = Relief{Factor: 1.15, StdDev: 0.05}
	Fluted  = Relief{Factor: 1.4, StdDev: 0.1}
	Carved  = Relief{Factor: 1.6, StdDev: 0.2}
)

var errNoShape = fault.New(fault.Invalid, "SHAPE_MISSING", "The part or its opening has no shape; say what it is and give its dimensions.")

// Part is so many alike of a shape, with relief on it and openings cut out of it.
type Part struct {
	Shape    Shape
	Count    int // 1 to 200
	Relief   Relief
	Openings []Shape // of one of them; only what they take off; each fits into a face
}

// Area is the surface of all of them, m², and how far it may be off: of one as measured,
// less its openings, times the relief, times the count. Faults: SHAPE_MISSING, also of an
// opening; OUT_OF_RANGE, which names the length; OPENINGS_TOO_LARGE, where one of them fits
// into no face or all of them take off all there is.
func (p Part) Area() (Estimate, error) {
	if p.Shape == nil {
		return Estimate{}, errNoShape.At("shape")
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
		off, err := p.opening(o)
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

// opening is the area that one takes off, if it fits into a face of the shape.
func (p Part) opening(o Shape) (Estimate, error) {
	if o == nil {
		return Estimate{}, errNoShape.At("openings")
	}
	off, err := Area(o)
	if err != nil {
		return Estimate{}, err
	}
	if hole, face := o.measured().faces(), p.Shape.measured().faces(); !fits(hole, face) {
		return Estimate{}, fault.New(fault.Invalid, "OPENINGS_TOO_LARGE", "An opening of %g m by %g m fits into no face of the part, of which the largest is %g m by %g m; check their dimensions.",
			hole[0].long, hole[0].wide, face[0].long, face[0].wide).At("openings")
	}
	return off, nil
}

// raised multiplies two independent figures.
func (e Estimate) raised(r Relief) Estimate {
	return Estimate{e.M2 * r.Factor, math.Hypot(e.StdDev*r.Factor, e.M2*r.StdDev)}
}

// Sum is the surface of a composition, m², and how far it may be off: a table of a top,
// aprons and legs. Each part was measured by itself, so their deviations add up in squares,
// while those of so many alike add up as they are. Where parts are joined nothing is taken
// off: leave out the faces and ends that nobody coats. Faults: PARTS_MISSING, of nothing;
// those of Part.Area.
func Sum(parts ...Part) (Estimate, error) {
	if len(parts) == 0 {
		return Estimate{}, fault.New(fault.Invalid, "PARTS_MISSING", "There is nothing to add up; name at least one part.").At("parts")
	}
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
