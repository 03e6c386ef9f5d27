// Package geometry is the area of a piece that is coated, stripped or sanded, from the
// dimensions somebody took with a tape. Trade, pure.
//
//	Panel, Rail, Disc, Box, Drawer, SquareLeg, TurnedLeg, Frame, Door  (a Shape)
//	   └─▶ Part: so many alike, with relief, less openings (part.go)
//	          └─▶ Sum: a chair, a table, a case of drawers
//
// Lengths are metres, areas m². A tape is off by a little, carving is guessed at; so an
// area is an Estimate, with how far it may be off.
package geometry

import (
	"math"

	"tackfree/pkg/dimension"
)

// Estimate is an area and its standard deviation, m².
type Estimate struct {
	M2     float64
	StdDev float64
}

// Plus adds an area that was measured by itself: deviations add up in squares.
func (e Estimate) Plus(other Estimate) Estimate {
	return Estimate{e.M2 + other.M2, math.Hypot(e.StdDev, other.StdDev)}
}

// Times is so many alike, of which one was measured: they are off together. A count is not
// checked here; Part.Area does so.
func (e Estimate) Times(n int) Estimate { return Estimate{e.M2 * float64(n), e.StdDev * float64(n)} }

// Tape is the standard deviation of a length taken with a tape, m. Common practice: two
// millimetres.
const Tape = 0.002

// maxLength is longer than anything that goes through a shop's door, m.
const maxLength = 20

// Shape is a form whose surface can be computed; the package's own types are all there are.
type Shape interface {
	// measured gives a copy whose lengths may be moved to and fro.
	measured() form
}

// form is a shape with its lengths in reach.
type form interface {
	lengths() []length
	m2() float64
	check() error  // what lengths alone do not show
	faces() []face // that count, the largest first; none where that does not tell
}

type length struct {
	name string
	m    *float64
	none bool // it may be 0
}

// Area is what a shape's faces come to, m², with what the tape does to it. Lengths are above
// 0 and at most 20 m; 0 only where the shape says so. Faults: SHAPE_MISSING; OUT_OF_RANGE,
// which names the length. Source: the formulas of plane and solid figures; the tape's error
// by first-order propagation.
func Area(s Shape) (Estimate, error) {
	if s == nil {
		return Estimate{}, errNoShape.At("shape")
	}
	f := s.measured()
	for _, l := range f.lengths() {
		within := dimension.Above
		if l.none {
			within = dimension.Within
		}
		if err := within(l.name, *l.m, 0, maxLength, "m"); err != nil {
			return Estimate{}, err
		}
	}
	if err := f.check(); err != nil {
		return Estimate{}, err
	}
	return Estimate{M2: f.m2(), StdDev: spread(f)}, nil
}

// spread is the first-order propagation of the tape's error: each length moves by it
// alone, and the changes add up in squares. A length of 0 was not measured.
func spread(f form) float64 {
	var squares float64
	for _, l := range f.lengths() {
		at := *l.m
		if at == 0 {
			continue
		}
		*l.m = at + Tape/2
		more := f.m2()
		*l.m = at - Tape/2
		less := f.m2()
		*l.m = at
		squares += (more - less) * (more - less)
	}
	return math.Sqrt(squares)
}
