package geometry

import (
	"math"
	"slices"
	"strings"

	"tackfree/pkg/dimension"
)

// Edges are the edges of a panel that count.
type Edges struct {
	Long  int // 0 to 2
	Short int // 0 to 2
}

// AllEdges are the four of a top.
var AllEdges = Edges{2, 2}

// Panel is a flat board, m: a top, a shelf, a drawer front, a back.
type Panel struct {
	Length, Width float64
	Thickness     float64 // 0 where no edge counts
	Faces         int     // 1 or 2
	Edges         Edges
}

// Coated is a board as furniture has it, of which only the label and the measures are known: both
// faces are coated, or one where nobody sees the other, and the edges where the thickness is known;
// 0: nobody measured that.
func Coated(label string, length, width, thickness float64) Panel {
	p := Panel{Length: length, Width: width, Thickness: thickness, Faces: 2}
	if words := strings.Fields(strings.ToLower(label)); len(words) > 0 && slices.Contains(oneFaced, strings.TrimSuffix(words[len(words)-1], "s")) {
		p.Faces = 1
	}
	if thickness > 0 {
		p.Edges = AllEdges
	}
	return p
}

// oneFaced are parts that are coated where they are seen: the underside of a top, the inside of a
// case, the face of a panel that is against a wall are not. Common practice.
var oneFaced = []string{"top", "side", "front", "frame", "apron", "panel"}

func (p Panel) measured() form { return &p }

func (p *Panel) lengths() []length {
	return []length{{"length", &p.Length, false}, {"width", &p.Width, false}, {"thickness", &p.Thickness, p.Edges == Edges{}}}
}

func (p *Panel) check() error {
	if err := dimension.Within("faces", float64(p.Faces), 1, 2, ""); err != nil {
		return err
	}
	if err := dimension.Within("long edges", float64(p.Edges.Long), 0, 2, ""); err != nil {
		return err
	}
	return dimension.Within("short edges", float64(p.Edges.Short), 0, 2, "")
}

func (p *Panel) m2() float64 {
	long, short := math.Max(p.Length, p.Width), math.Min(p.Length, p.Width)
	return float64(p.Faces)*p.Length*p.Width + p.Thickness*(float64(p.Edges.Long)*long+float64(p.Edges.Short)*short)
}

// Rail is a straight stick of rectangular section, m: an apron, a stretcher, a slat, a rail.
type Rail struct {
	Length, Width, Thickness float64
	Sides                    int // 1 to 4 of its long sides: both wide ones come first
	Ends                     int // 0 to 2
}

func (r Rail) measured() form { return &r }

func (r *Rail) lengths() []length {
	return []length{{"length", &r.Length, false}, {"width", &r.Width, false}, {"thickness", &r.Thickness, false}}
}

func (r *Rail) check() error {
	if err := dimension.Within("sides", float64(r.Sides), 1, 4, ""); err != nil {
		return err
	}
	return dimension.Within("ends", float64(r.Ends), 0, 2, "")
}

func (r *Rail) m2() float64 {
	wide := min(r.Sides, 2)
	return r.Length*(float64(wide)*r.Width+float64(r.Sides-wide)*r.Thickness) + float64(r.Ends)*r.Width*r.Thickness
}

// Disc is a round or oval panel, m: a table top, a seat.
type Disc struct {
	Length, Width float64 // its two diameters
	Thickness     float64 // 0 where the edge does not count
	Faces         int     // 1 or 2
	Edge          bool
}

func (d Disc) measured() form { return &d }

func (d *Disc) lengths() []length {
	return []length{{"length", &d.Length, false}, {"width", &d.Width, false}, {"thickness", &d.Thickness, !d.Edge}}
}

func (d *Disc) check() error { return dimension.Within("faces", float64(d.Faces), 1, 2, "") }

func (d *Disc) m2() float64 {
	area := float64(d.Faces) * math.Pi / 4 * d.Length * d.Width
	if d.Edge {
		area += d.Thickness * ellipse(d.Length/2, d.Width/2)
	}
	return area
}

// ellipse is the way around an ellipse of half-axes a and b, by Ramanujan's second
// approximation (1914), which is off by less than a thousandth for a table's shape.
func ellipse(a, b float64) float64 {
	h := (a - b) * (a - b) / ((a + b) * (a + b))
	return math.Pi * (a + b) * (1 + 3*h/(10+math.Sqrt(4-3*h)))
}
