package geometry

import "tackfree/pkg/dimension"

// Sides says which of a box's outer faces count.
type Sides struct{ Front, Back, Left, Right, Top, Bottom bool }

// Box is a case as it stands: width from left to right, depth from front to back, m; at
// least one side counts.
type Box struct {
	Width, Depth, Height float64
	Sides                Sides
}

func (b Box) measured() form { return &b }

func (b *Box) lengths() []length {
	return []length{{"width", &b.Width, false}, {"depth", &b.Depth, false}, {"height", &b.Height, false}}
}

func (b *Box) check() error {
	if b.Sides == (Sides{}) {
		return dimension.Within("sides", 0, 1, 6, "")
	}
	return nil
}

func (b *Box) m2() float64 {
	front, side, top := b.Width*b.Height, b.Depth*b.Height, b.Width*b.Depth
	var area float64
	for _, face := range []struct {
		counts bool
		m2     float64
	}{
		{b.Sides.Front, front}, {b.Sides.Back, front}, {b.Sides.Left, side}, {b.Sides.Right, side}, {b.Sides.Top, top}, {b.Sides.Bottom, top},
	} {
		if face.counts {
			area += face.m2
		}
	}
	return area
}

// Drawer is an open box: its front always counts, its outer sides and back or its inside
// if they are finished too. Lengths are m.
type Drawer struct {
	Width, Depth, Height float64
	Outside              bool    // the two sides and the back
	Inside               bool    // four walls and the floor
	Rims                 float64 // thickness of the walls whose upper edge counts, m; 0: none does
}

func (d Drawer) measured() form { return &d }

func (d *Drawer) lengths() []length {
	return []length{{"width", &d.Width, false}, {"depth", &d.Depth, false}, {"height", &d.Height, false}, {"rims", &d.Rims, true}}
}

func (d *Drawer) check() error { return nil }

// m2 takes the walls as thin.
func (d *Drawer) m2() float64 {
	area := d.Width*d.Height + 2*(d.Width+d.Depth)*d.Rims
	if d.Outside {
		area += 2*d.Depth*d.Height + d.Width*d.Height
	}
	if d.Inside {
		area += 2*(d.Width+d.Depth)*d.Height + d.Width*d.Depth
	}
	return area
}
