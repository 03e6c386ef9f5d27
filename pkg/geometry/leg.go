package geometry

import (
	"math"

	"tackfree/pkg/dimension"
)

// SquareLeg is a leg of square section, m, which may taper toward the foot. Its ends do not
// count.
type SquareLeg struct {
	Length float64
	Side   float64
	Foot   float64 // its side at the foot; 0: it does not taper
}

func (l SquareLeg) measured() form { return &l }

func (l *SquareLeg) lengths() []length {
	return []length{{"length", &l.Length, false}, {"side", &l.Side, false}, {"foot", &l.Foot, true}}
}

func (l *SquareLeg) check() error { return nil }

func (l *SquareLeg) m2() float64 {
	foot := l.Foot
	if foot == 0 {
		foot = l.Side
	}
	slant := math.Hypot(l.Length, (l.Side-foot)/2)
	return 4 * (l.Side + foot) / 2 * slant
}

// TurnedLeg is a leg, a spindle or a knob from the lathe: its diameters at points spaced
// evenly along its length, from one end to the other, 2 to 1,000 of them, m. Its ends do not
// count.
type TurnedLeg struct {
	Length    float64
	Diameters []float64 // 0 only at an end that comes to a point
}

func (l TurnedLeg) measured() form {
	l.Diameters = append([]float64(nil), l.Diameters...)
	return &l
}

func (l *TurnedLeg) lengths() []length {
	all := []length{{"length", &l.Length, false}}
	for i := range l.Diameters {
		all = append(all, length{"diameter", &l.Diameters[i], i == 0 || i == len(l.Diameters)-1})
	}
	return all
}

func (l *TurnedLeg) check() error {
	return dimension.Within("diameters", float64(len(l.Diameters)), 2, 1000, "")
}

// m2 sums the mantles of the truncated cones between the points: π (r + R) × slant.
func (l *TurnedLeg) m2() float64 {
	step := l.Length / float64(len(l.Diameters)-1)
	var area float64
	for i, d := range l.Diameters[1:] {
		before := l.Diameters[i]
		area += math.Pi * (before + d) / 2 * math.Hypot(step, (d-before)/2)
	}
	return area
}
