package geometry

import "tackfree/pkg/dimension"

// Frame is four members around an opening, m: a mirror, a face frame, a chair's seat frame.
type Frame struct {
	Length, Width float64 // outer
	Member        float64 // width of a stile or rail, at most half the frame's
	Thickness     float64 // 0 where no edge counts
	Faces         int     // 1 or 2
	OuterEdges    bool
	InnerEdges    bool
}

func (f Frame) measured() form { return &f }

func (f *Frame) lengths() []length {
	return []length{{"length", &f.Length, false}, {"width", &f.Width, false}, {"member", &f.Member, false},
		{"thickness", &f.Thickness, !f.OuterEdges && !f.InnerEdges}}
}

func (f *Frame) check() error {
	if err := dimension.Within("faces", float64(f.Faces), 1, 2, ""); err != nil {
		return err
	}
	return dimension.Within("member", f.Member, 0, min(f.Length, f.Width)/2, "m")
}

func (f *Frame) m2() float64 {
	innerLength, innerWidth := f.Length-2*f.Member, f.Width-2*f.Member
	area := float64(f.Faces) * (f.Length*f.Width - innerLength*innerWidth)
	if f.OuterEdges {
		area += 2 * (f.Length + f.Width) * f.Thickness
	}
	if f.InnerEdges {
		area += 2 * (innerLength + innerWidth) * f.Thickness
	}
	return area
}

// Door is a frame with panels let into it, m. Its faces cover the whole outline; Reveal is
// how deep the panels lie, which adds the frame's inner edges that stay in view.
type Door struct {
	Height, Width float64
	Thickness     float64 // 0 where the edges do not count
	Member        float64 // width of a stile or rail
	Panels        int     // 1 to 20, one above the other, with a rail between two
	Reveal        float64 // on each face that counts; 0: flush
	Faces         int     // 1 or 2
	Edges         bool
}

func (d Door) measured() form { return &d }

func (d *Door) lengths() []length {
	return []length{{"height", &d.Height, false}, {"width", &d.Width, false}, {"thickness", &d.Thickness, !d.Edges},
		{"member", &d.Member, false}, {"reveal", &d.Reveal, true}}
}

func (d *Door) check() error {
	if err := dimension.Within("faces", float64(d.Faces), 1, 2, ""); err != nil {
		return err
	}
	if err := dimension.Within("panels", float64(d.Panels), 1, 20, ""); err != nil {
		return err
	}
	if err := dimension.Within("member", d.Member, 0, d.Width/2, "m"); err != nil {
		return err
	}
	return dimension.Within("height of the panels together", d.panels(), 0, maxLength, "m")
}

// panels is the height that the rails leave for all panels.
func (d *Door) panels() float64 { return d.Height - float64(d.Panels+1)*d.Member }

func (d *Door) m2() float64 {
	around := 2 * (d.panels() + float64(d.Panels)*(d.Width-2*d.Member))
	area := float64(d.Faces) * (d.Height*d.Width + around*d.Reveal)
	if d.Edges {
		area += 2 * (d.Height + d.Width) * d.Thickness
	}
	return area
}
