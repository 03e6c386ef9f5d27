package workflow_test

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

func part(key string, after ...string) workflow.Step {
	return workflow.Step{Key: key, Kind: key, Scope: workflow.OnPart, After: after}
}

func whole(key string, after ...string) workflow.Step {
	return workflow.Step{Key: key, Kind: key, Scope: workflow.OnPiece, After: after}
}

func TestRoute_Check(t *testing.T) {
	cases := map[string]struct {
		route workflow.Route
		want  string
	}{
		"OK":          {workflow.Route{Word: "oiled-oak", Steps: []workflow.Step{part("strip"), part("sand", "strip"), whole("inspect", "sand")}}, ""},
		"NoName":      {workflow.Route{Word: "", Steps: []workflow.Step{part("strip")}}, "ROUTE_NAME_MALFORMED"},
		"Capitals":    {workflow.Route{Word: "Oak", Steps: []workflow.Step{part("strip")}}, "ROUTE_NAME_MALFORMED"},
		"Twice":       {workflow.Route{Word: "x", Steps: []workflow.Step{part("coat"), part("coat")}}, "ROUTE_STEP_TWICE"},
		"Unknown":     {workflow.Route{Word: "x", Steps: []workflow.Step{part("coat", "sand")}}, "ROUTE_STEP_UNKNOWN"},
		"AfterItself": {workflow.Route{Word: "x", Steps: []workflow.Step{part("coat", "coat")}}, "ROUTE_GOES_ROUND"},
		"Round":       {workflow.Route{Word: "x", Steps: []workflow.Step{part("a", "c"), part("b", "a"), part("c", "b")}}, "ROUTE_GOES_ROUND"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			if got := fault.Reason(c.route.Check()); got != c.want {
				t.Errorf("Check() = %q, want %q", got, c.want)
			}
		})
	}
}

func TestLayOut_PartsRunSideBySideAndMeet(t *testing.T) {
	painted := workflow.Route{Word: "painted", Steps: []workflow.Step{
		part("sand"), part("coat", "sand"), whole("hardware", "coat"), whole("inspect", "hardware")}}
	oiled := workflow.Route{Word: "oiled", Steps: []workflow.Step{
		part("sand"), part("oil", "sand"), whole("hardware", "oil")}}
	top, carcass := id.New(), id.New()
	stages, err := workflow.LayOut(id.New(), []workflow.PartRoute{{Part: top, Label: "top", Route: oiled}, {Part: carcass, Label: "case", Route: painted}}, id.New)
	if err != nil {
		t.Fatal(err)
	}
	var titles []string
	for i, s := range stages {
		titles = append(titles, s.Title())
		if s.Position != int32(i+1) || s.Pass() != 1 {
			t.Errorf("%s has position %d and pass %d, want %d and 1", s.Title(), s.Position, s.Pass(), i+1)
		}
	}
	want := []string{"sand (top)", "sand (case)", "oil (top)", "coat (case)", "hardware", "inspect"}
	if !slices.Equal(titles, want) {
		t.Errorf("stages = %v, want %v", titles, want)
	}
	if hardware := stages[4]; len(hardware.After) != 2 || hardware.Part != id.Nil {
		t.Errorf("hardware comes after %d stages on part %v, want 2 on the whole piece", len(hardware.After), hardware.Part)
	}
}

// The top is oiled and the case painted; what is chosen for the piece holds for both, unless one
// of them has its own. What nobody chose is done with nothing.
func TestTakeProducts(t *testing.T) {
	painted := workflow.Route{Word: "painted", Steps: []workflow.Step{part("sand"), part("coat", "sand"), whole("wax", "coat")}}
	oiled := workflow.Route{Word: "oiled", Steps: []workflow.Step{part("sand"), part("oil", "sand"), part("coat", "oil"), whole("wax", "coat")}}
	top, carcass := id.New(), id.New()
	cream, umber, oil, beeswax := id.New(), id.New(), id.New(), id.New()
	for name, named := range map[string][]workflow.StepProduct{
		"OwnFirst": {{Step: "coat", Part: top, Product: umber, Name: "Umber"}, {Step: "coat", Product: cream, Name: "Cream"}, {Step: "oil", Product: oil, Name: "Oil"}, {Step: "wax", Product: beeswax, Name: "Beeswax"}},
		"OwnLast":  {{Step: "wax", Part: carcass, Product: beeswax, Name: "Beeswax"}, {Step: "oil", Part: top, Product: oil, Name: "Oil"}, {Step: "coat", Product: cream, Name: "Cream"}, {Step: "coat", Part: top, Product: umber, Name: "Umber"}},
	} {
		t.Run(name, func(t *testing.T) {
			parts := []workflow.PartRoute{{Part: top, Label: "top", Route: oiled}, {Part: carcass, Label: "case", Route: painted}}
			if err := workflow.TakeProducts(parts, named); err != nil {
				t.Fatal(err)
			}
			stages, err := workflow.LayOut(id.New(), parts, id.New)
			if err != nil {
				t.Fatal(err)
			}
			got, want := map[string]string{}, map[string]string{"sand (top)": "", "sand (case)": "", "oil (top)": "Oil", "coat (top)": "Umber", "coat (case)": "Cream", "wax": "Beeswax"}
			for _, s := range stages {
				got[s.Title()] = s.ProductName
				if (s.Product == id.Nil) != (s.ProductName == "") {
					t.Errorf("%s is done with %v, called %q", s.Title(), s.Product, s.ProductName)
				}
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("what is done with what (-want +got):\n%s", diff)
			}
		})
	}
}

func TestTakeProducts_Refuses(t *testing.T) {
	painted := workflow.Route{Word: "painted", Steps: []workflow.Step{part("coat"), whole("wax", "coat")}}
	top, carcass := id.New(), id.New()
	of := func(step string, part id.ID, name string) workflow.StepProduct {
		return workflow.StepProduct{Step: step, Part: part, Product: id.New(), Name: name, Field: name}
	}
	for name, c := range map[string]struct {
		named         []workflow.StepProduct
		reason, field string
		words         []string
	}{
		"NoSuchStep":      {[]workflow.StepProduct{of("coat", id.Nil, "Cream"), of("glaze", id.Nil, "Umber")}, "ROUTE_STEP_UNKNOWN", "Umber.step", []string{`"glaze"`}},
		"NotOfThisPart":   {[]workflow.StepProduct{of("coat", id.New(), "Cream")}, "ROUTE_STEP_UNKNOWN", "Cream.step", []string{`"coat"`}},
		"Twice":           {[]workflow.StepProduct{of("coat", id.Nil, "Cream"), of("coat", id.Nil, "Umber")}, "ROUTE_STEP_TWICE", "Umber.step", []string{`"coat"`}},
		"TwiceOnAPart":    {[]workflow.StepProduct{of("coat", top, "Cream"), of("coat", carcass, "Umber"), of("coat", top, "Ivory")}, "ROUTE_STEP_TWICE", "Ivory.step", []string{`"coat"`}},
		"OncePerPiece":    {[]workflow.StepProduct{of("wax", top, "Beeswax"), of("wax", carcass, "Carnauba")}, "ROUTES_DISAGREE", "Carnauba.product", []string{`"wax"`, "Beeswax", "Carnauba"}},
		"OncePerPieceAll": {[]workflow.StepProduct{of("wax", id.Nil, "Beeswax"), of("wax", carcass, "Carnauba")}, "ROUTES_DISAGREE", "Carnauba.product", []string{"Beeswax and with Carnauba"}},
	} {
		t.Run(name, func(t *testing.T) {
			parts := []workflow.PartRoute{{Part: top, Label: "top", Route: painted}, {Part: carcass, Label: "case", Route: painted}}
			err := workflow.TakeProducts(parts, c.named)
			if err == nil {
				_, err = workflow.LayOut(id.New(), parts, id.New)
			}
			refusedWords(t, err, c.reason, c.words...)
			if f := fault.Of(err); f.Fields[0].Path != c.field {
				t.Errorf("it blames %v, not %s", f.Fields, c.field)
			}
		})
	}
}

func TestLayOut_RoutesThatDisagree(t *testing.T) {
	one := workflow.Route{Steps: []workflow.Step{whole("finish")}}
	other := workflow.Route{Steps: []workflow.Step{{Key: "finish", Kind: "cure", Scope: workflow.OnPiece}}}
	_, err := workflow.LayOut(id.New(), []workflow.PartRoute{{Part: id.New(), Route: one}, {Part: id.New(), Route: other}}, id.New)
	if !fault.Is(err, "ROUTES_DISAGREE") {
		t.Errorf("LayOut = %v, want ROUTES_DISAGREE", err)
	}
}

// Two routes that are each in order can contradict each other where parts meet.
func TestLayOut_RoutesThatGoRoundTogether(t *testing.T) {
	one := workflow.Route{Steps: []workflow.Step{whole("wax"), whole("inspect", "wax")}}
	other := workflow.Route{Steps: []workflow.Step{whole("inspect"), whole("wax", "inspect")}}
	_, err := workflow.LayOut(id.New(), []workflow.PartRoute{{Part: id.New(), Route: one}, {Part: id.New(), Route: other}}, id.New)
	if !fault.Is(err, "ROUTES_GO_ROUND") {
		t.Errorf("LayOut = %v, want ROUTES_GO_ROUND", err)
	}
}

func TestLayOut_TooLarge(t *testing.T) {
	var route workflow.Route
	for i := range 100 {
		route.Steps = append(route.Steps, part(string(rune('a'+i))))
	}
	lay := func(parts int) error {
		var list []workflow.PartRoute
		for range parts {
			list = append(list, workflow.PartRoute{Part: id.New(), Route: route})
		}
		_, err := workflow.LayOut(id.New(), list, id.New)
		return err
	}
	if err := lay(5); err != nil {
		t.Errorf("LayOut of 500 stages = %v", err)
	}
	if err := lay(6); !fault.Is(err, "PLAN_TOO_LARGE") {
		t.Errorf("LayOut of 600 stages = %v, want PLAN_TOO_LARGE", err)
	}
}

// However a route is drawn, every stage stands behind all it comes after.
func TestLayOut_OrderRespectsWhatComesBefore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		route := randomRoute(t)
		if err := route.Check(); err != nil {
			t.Fatal(err)
		}
		var parts []workflow.PartRoute
		for range rapid.IntRange(1, 5).Draw(t, "parts") {
			parts = append(parts, workflow.PartRoute{Part: id.New(), Label: "part", Route: route})
		}
		stages, err := workflow.LayOut(id.New(), parts, id.New)
		if err != nil {
			t.Fatal(err)
		}
		at := map[id.ID]int32{}
		for _, s := range stages {
			at[s.ID] = s.Position
		}
		for _, s := range stages {
			for _, before := range s.After {
				if at[before] == 0 || at[before] >= s.Position {
					t.Fatalf("%s at %d comes before what it depends on, at %d", s.Title(), s.Position, at[before])
				}
			}
		}
	})
}

// randomRoute draws steps that come after earlier ones only, in a shuffled list.
func randomRoute(t *rapid.T) workflow.Route {
	r := workflow.Route{Word: "x"}
	n := rapid.IntRange(1, 12).Draw(t, "steps")
	for i := range n {
		s := workflow.Step{Key: string(rune('a' + i)), Kind: "sand", Scope: workflow.OnPart}
		if rapid.Bool().Draw(t, "on the piece") {
			s.Scope = workflow.OnPiece
		}
		for j := range i {
			if rapid.IntRange(0, 3).Draw(t, "after") == 0 {
				s.After = append(s.After, string(rune('a'+j)))
			}
		}
		r.Steps = append(r.Steps, s)
	}
	r.Steps = rapid.Permutation(r.Steps).Draw(t, "order")
	return r
}
