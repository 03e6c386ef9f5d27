package geometry

import (
	"math"
	"slices"
)

// face is the rectangle around a flat face, m, its longer side first.
type face struct{ long, wide float64 }

func rectangle(a, b float64) face { return face{math.Max(a, b), math.Min(a, b)} }

// largest puts the largest face first.
func largest(faces ...face) []face {
	slices.SortStableFunc(faces, func(a, b face) int {
		if a.long*a.wide > b.long*b.wide {
			return -1
		}
		return 1
	})
	return faces
}

// fits reports whether every face of an opening lies within one of what it is cut from. A
// shape without faces, such as a turned leg, does not tell.
func fits(hole, from []face) bool {
	if len(from) == 0 {
		return true
	}
	for _, h := range hole {
		if !slices.ContainsFunc(from, func(f face) bool { return h.long <= f.long && h.wide <= f.wide }) {
			return false
		}
	}
	return true
}

func (p *Panel) faces() []face { return []face{rectangle(p.Length, p.Width)} }

func (r *Rail) faces() []face {
	if r.Sides <= 2 {
		return []face{rectangle(r.Length, r.Width)}
	}
	return largest(rectangle(r.Length, r.Width), rectangle(r.Length, r.Thickness))
}

func (d *Disc) faces() []face { return []face{rectangle(d.Length, d.Width)} }

func (b *Box) faces() (all []face) {
	if b.Sides.Front || b.Sides.Back {
		all = append(all, rectangle(b.Width, b.Height))
	}
	if b.Sides.Left || b.Sides.Right {
		all = append(all, rectangle(b.Depth, b.Height))
	}
	if b.Sides.Top || b.Sides.Bottom {
		all = append(all, rectangle(b.Width, b.Depth))
	}
	return largest(all...)
}

func (d *Drawer) faces() []face {
	all := []face{rectangle(d.Width, d.Height)}
	if d.Outside || d.Inside {
		all = append(all, rectangle(d.Depth, d.Height))
	}
	if d.Inside {
		all = append(all, rectangle(d.Width, d.Depth))
	}
	return largest(all...)
}

func (f *Frame) faces() []face { return []face{rectangle(f.Length, f.Width)} }

func (d *Door) faces() []face { return []face{rectangle(d.Height, d.Width)} }

func (l *SquareLeg) faces() []face { return []face{rectangle(l.Length, math.Max(l.Side, l.Foot))} }

func (l *TurnedLeg) faces() []face { return nil }
