package geometry_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
	"tackfree/pkg/geometry"
)

func inches(t testing.TB, text string) float64 {
	t.Helper()
	m, err := dimension.Length.Parse(text + "in")
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func area(t testing.TB, s geometry.Shape) float64 {
	t.Helper()
	e, err := geometry.Area(s)
	if err != nil {
		t.Fatal(err)
	}
	return e.M2
}

// By hand, from the formulas of any table of plane and solid figures.
func TestArea_ByHand(t *testing.T) {
	in2 := 0.0254 * 0.0254
	for name, c := range map[string]struct {
		shape geometry.Shape
		want  float64
	}{
		"TopBothFaces":     {geometry.Panel{Length: 1.2, Width: 0.5, Faces: 2}, 1.2},
		"TopWithAllEdges":  {geometry.Panel{Length: 1.2, Width: 0.5, Thickness: 0.02, Faces: 1, Edges: geometry.AllEdges}, 0.6 + 2*1.7*0.02},
		"ShelfFrontEdge":   {geometry.Panel{Length: 0.3, Width: 0.9, Thickness: 0.018, Faces: 2, Edges: geometry.Edges{Long: 1}}, 0.54 + 0.9*0.018},
		"DrawerFront":      {geometry.Panel{Length: inches(t, "17 3/8"), Width: inches(t, "5 1/2"), Faces: 1}, 17.375 * 5.5 * in2},
		"Apron":            {geometry.Rail{Length: 1, Width: 0.1, Thickness: 0.02, Sides: 3}, 0.2 + 0.02},
		"Slat":             {geometry.Rail{Length: 1, Width: 0.1, Thickness: 0.02, Sides: 4, Ends: 2}, 0.24 + 0.004},
		"RailOnWall":       {geometry.Rail{Length: 1, Width: 0.1, Thickness: 0.02, Sides: 1}, 0.1},
		"RoundTop":         {geometry.Disc{Length: 1, Width: 1, Thickness: 0.03, Faces: 1, Edge: true}, math.Pi/4 + math.Pi*0.03},
		"OvalTop":          {geometry.Disc{Length: 2, Width: 1, Faces: 2}, math.Pi},
		"OvalEdge":         {geometry.Disc{Length: 2, Width: 1, Thickness: 1, Faces: 1, Edge: true}, math.Pi/2 + 4.844224110}, // the complete elliptic integral, half-axes 1 and 0.5
		"CaseNoBackBottom": {geometry.Box{Width: 1, Depth: 0.5, Height: 0.8, Sides: geometry.Sides{Front: true, Left: true, Right: true, Top: true}}, 0.8 + 2*0.4 + 0.5},
		"WholeCube":        {geometry.Box{Width: 1, Depth: 1, Height: 1, Sides: geometry.Sides{Front: true, Back: true, Left: true, Right: true, Top: true, Bottom: true}}, 6},
		"FrontOnly":        {geometry.Drawer{Width: 0.4, Depth: 0.5, Height: 0.1}, 0.04},
		"DrawerAllRound":   {geometry.Drawer{Width: 0.4, Depth: 0.5, Height: 0.1, Outside: true, Inside: true}, 0.18 + 0.18 + 0.2},
		"DrawerRims":       {geometry.Drawer{Width: 0.4, Depth: 0.5, Height: 0.1, Rims: 0.01}, 0.04 + 0.018},
		"SquareLeg":        {geometry.SquareLeg{Length: 0.7, Side: 0.05}, 0.14},
		"TaperedLeg":       {geometry.SquareLeg{Length: 0.4, Side: 0.7, Foot: 0.1}, 4 * 0.4 * 0.5}, // slant of 0.3 and 0.4
		"RoundStretcher":   {geometry.TurnedLeg{Length: 1, Diameters: []float64{0.03, 0.03}}, math.Pi * 0.03},
		"Cone":             {geometry.TurnedLeg{Length: 0.4, Diameters: []float64{0, 0.6}}, math.Pi * 0.3 * 0.5},
		"MirrorFrame":      {geometry.Frame{Length: 1, Width: 0.8, Member: 0.1, Thickness: 0.02, Faces: 1, OuterEdges: true, InnerEdges: true}, 0.32 + 3.6*0.02 + 2.8*0.02},
		"FlatDoor":         {geometry.Door{Height: 0.6, Width: 0.4, Member: 0.05, Panels: 1, Faces: 2}, 0.48},
		"TwoPanelDoor":     {geometry.Door{Height: 0.65, Width: 0.4, Thickness: 0.02, Member: 0.05, Panels: 2, Reveal: 0.01, Faces: 1, Edges: true}, 0.26 + 2*(0.5+2*0.3)*0.01 + 2.1*0.02},
	} {
		if got := area(t, c.shape); math.Abs(got-c.want) > 1e-8 {
			t.Errorf("%s: Area = %.10f, want %.10f", name, got, c.want)
		}
	}
}

// A dresser's top is not painted below, nor its sides within; a door, a shelf and a leg are all round.
func TestCoated(t *testing.T) {
	for label, want := range map[string]float64{
		"top": 0.6 + 2*1.7*0.02, "Tops": 0.6 + 2*1.7*0.02, "left side": 0.6 + 2*1.7*0.02, "drawer fronts": 0.6 + 2*1.7*0.02, "front frame": 0.6 + 2*1.7*0.02, "back panel": 0.6 + 2*1.7*0.02,
		"door": 1.2 + 2*1.7*0.02, "side rail": 1.2 + 2*1.7*0.02, "leg": 1.2 + 2*1.7*0.02, "": 1.2 + 2*1.7*0.02,
	} {
		if got := area(t, geometry.Coated(label, 1.2, 0.5, 0.02)); math.Abs(got-want) > 1e-9 {
			t.Errorf("%q: Area = %v, want %v", label, got, want)
		}
	}
	if got := area(t, geometry.Coated("top", 1.2, 0.5, 0)); got != 0.6 {
		t.Errorf("a top that nobody measured through has %v m²", got)
	}
}

// Archimedes: the surface of a sphere is four great circles. A ball turned on the lathe,
// measured at many points, comes near it.
func TestTurnedLeg_Ball(t *testing.T) {
	ball := geometry.TurnedLeg{Length: 0.1}
	for i := range 401 {
		x := float64(i)/400*2 - 1
		ball.Diameters = append(ball.Diameters, 0.1*math.Sqrt(1-x*x))
	}
	if got, want := area(t, ball), math.Pi*0.01; math.Abs(got-want) > 0.001*want {
		t.Errorf("ball = %v, want %v", got, want)
	}
}

// What the estimate says it may be off is what it is off by, when each length is measured
// over and over with the tape's error.
func TestArea_SpreadIsThatOfTheTape(t *testing.T) {
	top := geometry.Panel{Length: 1.2, Width: 0.5, Thickness: 0.03, Faces: 2, Edges: geometry.AllEdges}
	e, err := geometry.Area(top)
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(1, 2))
	var sum, squares float64
	const n = 20_000
	for range n {
		m := top
		for _, l := range []*float64{&m.Length, &m.Width, &m.Thickness} {
			*l += geometry.Tape * random.NormFloat64()
		}
		a := area(t, m)
		sum, squares = sum+a, squares+a*a
	}
	spread := math.Sqrt(squares/n - (sum/n)*(sum/n))
	if math.Abs(spread-e.StdDev) > 0.03*spread {
		t.Errorf("StdDev = %v, by repeated measuring %v", e.StdDev, spread)
	}
}

// A piece cut in two has the surface it had, but for the new edges; and measuring leaves
// the shape as it was.
func TestArea_Additive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		long, wide := rapid.Float64Range(0.02, 10).Draw(t, "length"), rapid.Float64Range(0.02, 10).Draw(t, "width")
		cut := long * rapid.Float64Range(0.1, 0.9).Draw(t, "cut")
		panel := func(l float64) geometry.Part {
			return geometry.Part{Shape: geometry.Panel{Length: l, Width: wide, Faces: 2}, Count: 1, Relief: geometry.Flat}
		}
		whole, err := panel(long).Area()
		both, err2 := geometry.Sum(panel(cut), panel(long-cut))
		if errors.Join(err, err2) != nil || math.Abs(whole.M2-both.M2) > 1e-9*whole.M2 {
			t.Fatalf("%v whole, %v in two: %v, %v", whole, both, err, err2)
		}
	})
}

// A table: one top with its edges, four aprons that are seen from outside and below, four
// turned legs; by hand.
func TestSum_Table(t *testing.T) {
	got, err := geometry.Sum(
		geometry.Part{Shape: geometry.Panel{Length: 1.4, Width: 0.8, Thickness: 0.02, Faces: 1, Edges: geometry.AllEdges}, Count: 1, Relief: geometry.Flat},
		geometry.Part{Shape: geometry.Rail{Length: 1.2, Width: 0.1, Thickness: 0.02, Sides: 3}, Count: 2, Relief: geometry.Flat},
		geometry.Part{Shape: geometry.Rail{Length: 0.6, Width: 0.1, Thickness: 0.02, Sides: 3}, Count: 2, Relief: geometry.Flat},
		geometry.Part{Shape: geometry.TurnedLeg{Length: 0.7, Diameters: []float64{0.06, 0.06}}, Count: 4, Relief: geometry.Relief{Factor: 1.5, StdDev: 0.1}},
	)
	if err != nil {
		t.Fatal(err)
	}
	want := 1.12 + 4.4*0.02 + 2*1.2*0.22 + 2*0.6*0.22 + 4*1.5*math.Pi*0.06*0.7
	if math.Abs(got.M2-want) > 1e-9 {
		t.Errorf("table = %v, want %v", got.M2, want)
	}
	if got.StdDev < 0.1*4*math.Pi*0.06*0.7 || got.StdDev > 0.1 {
		t.Errorf("StdDev = %v, want that of the carving and a little of the tape", got.StdDev)
	}
}

// Glass in a door is not coated: what is let out comes off.
func TestPart_Openings(t *testing.T) {
	door := geometry.Part{Shape: geometry.Panel{Length: 0.6, Width: 0.4, Faces: 2}, Count: 2, Relief: geometry.Flat,
		Openings: []geometry.Shape{geometry.Panel{Length: 0.4, Width: 0.2, Faces: 2}}}
	e, err := door.Area()
	if err != nil || math.Abs(e.M2-2*(0.48-0.16)) > 1e-9 {
		t.Errorf("Area = %v, %v, want 0.64", e.M2, err)
	}
	door.Openings = append(door.Openings, geometry.Panel{Length: 0.6, Width: 0.4, Faces: 2})
	if _, err := door.Area(); !fault.Is(err, "OPENINGS_TOO_LARGE") {
		t.Errorf("Area = %v, want OPENINGS_TOO_LARGE", err)
	}
}

// What is cut out lies within a face: a hole longer or wider than what it is cut from was
// measured wrong, even if its area is small. It may be turned. A turned leg does not tell.
func TestPart_OpeningsFitIntoAFace(t *testing.T) {
	hole := func(a, b float64) geometry.Panel { return geometry.Panel{Length: a, Width: b, Faces: 1} }
	front := geometry.Box{Width: 1, Depth: 0.4, Height: 0.8, Sides: geometry.Sides{Front: true, Left: true}}
	for name, c := range map[string]struct {
		shape, opening geometry.Shape
		good           bool
	}{
		"within":              {geometry.Panel{Length: 1, Width: 0.5, Faces: 1}, hole(0.9, 0.4), true},
		"turned":              {geometry.Panel{Length: 1, Width: 0.5, Faces: 1}, hole(0.4, 0.9), true},
		"as long":             {geometry.Panel{Length: 1, Width: 0.5, Faces: 1}, hole(1, 0.1), true},
		"longer":              {geometry.Panel{Length: 1, Width: 0.5, Faces: 1}, hole(1.01, 0.1), false},
		"wider":               {geometry.Panel{Length: 1, Width: 0.5, Faces: 1}, hole(0.51, 0.51), false},
		"round":               {geometry.Panel{Length: 1, Width: 0.5, Faces: 1}, geometry.Disc{Length: 0.6, Width: 0.6, Faces: 1}, false},
		"of a front":          {front, hole(0.9, 0.7), true},
		"of no side of it":    {front, hole(1.1, 0.1), false},
		"of a side not there": {geometry.Box{Width: 1, Depth: 0.9, Height: 0.1, Sides: geometry.Sides{Front: true, Left: true}}, hole(0.2, 0.2), false},
		"of a drawer's floor": {geometry.Drawer{Width: 0.4, Depth: 0.5, Height: 0.1, Inside: true}, hole(0.3, 0.3), true},
		"of a drawer's front": {geometry.Drawer{Width: 0.4, Depth: 0.5, Height: 0.1}, hole(0.3, 0.3), false},
		"of a drawer's side":  {geometry.Drawer{Width: 0.4, Depth: 0.5, Height: 0.1, Outside: true}, hole(0.45, 0.05), true},
		"of a round top":      {geometry.Disc{Length: 1, Width: 0.6, Faces: 1}, hole(0.7, 0.65), false},
		"of a rail's edge":    {geometry.Rail{Length: 1, Width: 0.1, Thickness: 0.2, Sides: 4}, hole(0.5, 0.15), true},
		"of a rail's face":    {geometry.Rail{Length: 1, Width: 0.1, Thickness: 0.2, Sides: 2}, hole(0.5, 0.15), false},
		"of a frame":          {geometry.Frame{Length: 1, Width: 0.8, Member: 0.1, Faces: 1}, hole(1.2, 0.05), false},
		"of a door":           {geometry.Door{Height: 2, Width: 0.7, Member: 0.1, Panels: 1, Faces: 1}, hole(1, 0.8), false},
		"of a square leg":     {geometry.SquareLeg{Length: 0.7, Side: 0.05}, hole(0.1, 0.06), false},
		"of a turned leg":     {geometry.TurnedLeg{Length: 0.7, Diameters: []float64{0.1, 0.1}}, hole(0.1, 0.2), true},
	} {
		_, err := geometry.Part{Shape: c.shape, Count: 1, Relief: geometry.Flat, Openings: []geometry.Shape{c.opening}}.Area()
		if c.good && err != nil || !c.good && !fault.Is(err, "OPENINGS_TOO_LARGE") {
			t.Errorf("%s: Area = %v", name, err)
		}
	}
}

func TestSum_OfNothing(t *testing.T) {
	if e, err := geometry.Sum(); !fault.Is(err, "PARTS_MISSING") || e != (geometry.Estimate{}) {
		t.Errorf("Sum() = %v, %v, want PARTS_MISSING", e, err)
	}
}

func BenchmarkSum_Table(b *testing.B) {
	top := geometry.Part{Shape: geometry.Panel{Length: 1.4, Width: 0.8, Thickness: 0.02, Faces: 1, Edges: geometry.AllEdges}, Count: 1, Relief: geometry.Flat}
	legs := geometry.Part{Shape: geometry.TurnedLeg{Length: 0.7, Diameters: []float64{0.06, 0.04, 0.06, 0.03}}, Count: 4, Relief: geometry.Moulded}
	for b.Loop() {
		_, _ = geometry.Sum(top, legs)
	}
}

func BenchmarkPart_Area_Openings(b *testing.B) {
	door := geometry.Part{Shape: geometry.Panel{Length: 0.6, Width: 0.4, Faces: 2}, Count: 2, Relief: geometry.Flat,
		Openings: []geometry.Shape{geometry.Panel{Length: 0.4, Width: 0.2, Faces: 2}}}
	for b.Loop() {
		_, _ = door.Area()
	}
}

func TestArea_Refuses(t *testing.T) {
	nan := math.NaN()
	panel := geometry.Panel{Length: 1, Width: 1, Faces: 1}
	part := func(change func(*geometry.Part)) error {
		p := geometry.Part{Shape: panel, Count: 1, Relief: geometry.Flat}
		change(&p)
		_, err := p.Area()
		return err
	}
	for name, s := range map[string]geometry.Shape{
		"no length": geometry.Panel{Width: 1, Faces: 1}, "NaN": geometry.Panel{Length: nan, Width: 1, Faces: 1}, "three faces": geometry.Panel{Length: 1, Width: 1, Faces: 3},
		"edge without thickness": geometry.Panel{Length: 1, Width: 1, Faces: 1, Edges: geometry.AllEdges}, "five long edges": geometry.Panel{Length: 1, Width: 1, Thickness: 1, Faces: 1, Edges: geometry.Edges{Long: 5}},
		"short edges": geometry.Panel{Length: 1, Width: 1, Thickness: 1, Faces: 1, Edges: geometry.Edges{Short: -1}}, "no sides": geometry.Rail{Length: 1, Width: 1, Thickness: 1},
		"ends": geometry.Rail{Length: 1, Width: 1, Thickness: 1, Sides: 1, Ends: 3}, "disc": geometry.Disc{Length: 1, Width: math.Inf(1), Faces: 1}, "disc's faces": geometry.Disc{Length: 1, Width: 1},
		"nothing of a box": geometry.Box{Width: 1, Depth: 1, Height: 1}, "flat box": geometry.Box{Width: 1, Height: 1, Sides: geometry.Sides{Top: true}}, "drawer": geometry.Drawer{Width: 1, Depth: -1, Height: 1},
		"leg": geometry.SquareLeg{Length: 1}, "foot": geometry.SquareLeg{Length: 1, Side: 1, Foot: -1}, "one diameter": geometry.TurnedLeg{Length: 1, Diameters: []float64{1}},
		"thin in the middle": geometry.TurnedLeg{Length: 1, Diameters: []float64{1, 0, 1}}, "frame": geometry.Frame{Length: 1, Width: 1, Member: 0.6, Faces: 1}, "frame's faces": geometry.Frame{Length: 1, Width: 1, Member: 0.1},
		"door": geometry.Door{Height: 1, Width: 1, Member: 0.1, Panels: 1}, "no panel": geometry.Door{Height: 1, Width: 1, Member: 0.1, Faces: 1}, "wide member": geometry.Door{Height: 2, Width: 1, Member: 0.6, Panels: 1, Faces: 1},
		"only rails": geometry.Door{Height: 1, Width: 1, Member: 0.4, Panels: 3, Faces: 1}, "longer than a shop": geometry.Panel{Length: 21, Width: 1, Faces: 1},
	} {
		e, err := geometry.Area(s)
		if f := fault.Of(err); f == nil || f.Reason != "OUT_OF_RANGE" || f.Fields[0].Path == "" || e != (geometry.Estimate{}) {
			t.Errorf("%s: Area = %v, %v, want OUT_OF_RANGE that names the length", name, e, err)
		}
	}
	for name, err := range map[string]error{
		"none": part(func(p *geometry.Part) { p.Count = 0 }), "relief": part(func(p *geometry.Part) { p.Relief.Factor = 0 }), "spread": part(func(p *geometry.Part) { p.Relief.StdDev = nan }),
		"opening": part(func(p *geometry.Part) { p.Openings = []geometry.Shape{geometry.Panel{}} }),
	} {
		if !fault.Is(err, "OUT_OF_RANGE") {
			t.Errorf("%s = %v, want OUT_OF_RANGE", name, err)
		}
	}
	if err := part(func(p *geometry.Part) { p.Shape = nil }); !fault.Is(err, "SHAPE_MISSING") {
		t.Errorf("no shape = %v, want SHAPE_MISSING", err)
	}
	if err := part(func(p *geometry.Part) { p.Openings = []geometry.Shape{nil} }); !fault.Is(err, "SHAPE_MISSING") {
		t.Errorf("an opening of no shape = %v, want SHAPE_MISSING", err)
	}
	if _, err := geometry.Area(nil); !fault.Is(err, "SHAPE_MISSING") {
		t.Errorf("Area(nil) = %v, want SHAPE_MISSING", err)
	}
}
