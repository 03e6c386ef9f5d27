package finish_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

func dresser() []finish.Part {
	old := finish.Assessment{Material: finish.SolidWood, Species: "oak", OldFinish: finish.OilVarnish}
	return []finish.Part{
		{Label: "top", AreaM2: 0.8, Assessment: old, Wanted: finish.Wanted{Look: finish.Stained, Topcoats: 3}},
		{Label: "case", AreaM2: 2.4, Assessment: old, Wanted: finish.Wanted{Look: finish.Painted, Topcoats: 2}},
		{Label: "back", AreaM2: 1.1, Assessment: finish.Assessment{Material: finish.MDF}, Wanted: finish.Wanted{Look: finish.Painted}},
	}
}

var palette = finish.Palette{Paint: light(finish.WaterAcrylic), Stain: product(finish.OilVarnish), Topcoat: product(finish.WaterPolyurethane)}

// Parts go side by side: each begins when the hardware is off, and all are done before it
// goes on again; before that somebody looks at the film, then at the hardware, and last at the
// piece.
func TestPlanPiece_PartsMeet(t *testing.T) {
	stages, err := finish.PlanPiece(dresser(), palette)
	if err != nil {
		t.Fatal(err)
	}
	if stages[0].Step.Kind != finish.HardwareOff {
		t.Fatalf("it begins with %s", stages[0].Key)
	}
	first := len(stages) - 4
	for i, want := range []struct {
		title string
		point finish.Point
		needs finish.Needs
	}{{"film-check", finish.PointFilm, finish.NeedsRecoat}, {"hardware-on", "", finish.NeedsCured}, {"hardware-check", finish.PointHardware, finish.NeedsCured}, {"inspect", "", finish.NeedsCured}} {
		s := stages[first+i]
		if s.Title() != want.title || s.Step.Point != want.point || s.Needs != want.needs || i > 0 && !slices.Equal(s.After, []int{first + i - 1}) {
			t.Errorf("it ends with %s, which looks at %q when it is %q, after %v; want %+v", s.Title(), s.Step.Point, s.Needs, s.After, want)
		}
	}
	begins := 0
	for i, s := range stages[1:first] {
		if s.Part == "" || len(s.After) != 1 || s.Skill == "" && s.Step.Kind == finish.Sand {
			t.Errorf("stage %d: %+v", i+1, s)
		}
		if s.After[0] == 0 {
			begins++
		}
	}
	if begins != 3 || len(stages[first].After) != 3 {
		t.Errorf("%d parts begin, and the film is looked at after %v", begins, stages[first].After)
	}
	for _, i := range stages[first].After {
		if s := stages[i]; s.Step.Wait < s.Step.Product.Cure {
			t.Errorf("%s waits %v, want it cured", s.Title(), s.Step.Wait)
		}
	}
}

// The order respects every dependency, keys are unique in a part, minutes grow with the area.
func TestPlanPiece_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := dresser()
		for i := range parts {
			parts[i].AreaM2 = rapid.Float64Range(0, 50).Draw(t, "area")
		}
		stages, err := finish.PlanPiece(parts, palette)
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for i, s := range stages {
			if seen[s.Part+"/"+s.Key] || s.Attended < 0 {
				t.Fatalf("%s of %q: twice, or %v", s.Key, s.Part, s.Attended)
			}
			seen[s.Part+"/"+s.Key] = true
			for _, before := range s.After {
				if before >= i {
					t.Fatalf("%s comes before what it waits for", s.Key)
				}
			}
		}
	})
}

func TestPlanPiece_Refuses(t *testing.T) {
	for name, c := range map[string]struct {
		change       func([]finish.Part) []finish.Part
		reason, path string
	}{
		"NoParts":  {func([]finish.Part) []finish.Part { return nil }, "PARTS_MISSING", "parts"},
		"Twice":    {func(p []finish.Part) []finish.Part { p[1].Label = "top"; return p }, "PART_TWICE", "parts[1].label"},
		"Nameless": {func(p []finish.Part) []finish.Part { p[2].Label = ""; return p }, "PART_TWICE", "parts[2].label"},
		"Material": {func(p []finish.Part) []finish.Part { p[1].Material = "cheese"; return p }, "MATERIAL_UNKNOWN", "parts[1].material"},
		"Area":     {func(p []finish.Part) []finish.Part { p[0].AreaM2 = -1; return p }, "OUT_OF_RANGE", "parts[0].area"},
		"TooMany":  {func(p []finish.Part) []finish.Part { return slices.Repeat(p, 40) }, "OUT_OF_RANGE", "parts"},
	} {
		_, err := finish.PlanPiece(c.change(dresser()), palette)
		f := fault.Of(err)
		if f == nil || f.Reason != c.reason || !slices.ContainsFunc(f.Fields, func(x fault.Field) bool { return x.Path == c.path }) {
			t.Errorf("%s: %v, want %s at %s", name, err, c.reason, c.path)
		}
	}
}

// Whoever starts a step is told what can hurt them, and that other rules come first.
func TestStep_Hazards(t *testing.T) {
	old := finish.Assessment{Material: finish.SolidWood, OldFinish: finish.OilVarnish}
	modern := old
	modern.PaintedIn = 1990
	ids := func(s finish.Step, a finish.Assessment) string {
		var all []string
		for _, h := range s.Hazards(a) {
			all = append(all, h.ID)
			if !strings.Contains(h.Text, "local codes") || !strings.Contains(h.Text, "licensed practice") {
				t.Errorf("%s does not defer: %s", h.ID, h.Text)
			}
		}
		return strings.Join(all, " ")
	}
	for _, c := range []struct {
		step finish.Step
		a    finish.Assessment
		want string
	}{
		{finish.Step{Kind: finish.Strip}, old, "stripper lead"}, {finish.Step{Kind: finish.Strip}, modern, "stripper"}, {sand(120), modern, "dust"}, {scuff(320), old, "dust lead"},
		{coat(finish.OilCoat, finish.DryingOil), modern, "vapour oily-rags"}, {coat(finish.TopcoatCoat, finish.OilVarnish), modern, "vapour fire oily-rags"},
		{do(finish.OpenPores)[0], modern, "dust"}, {coat(finish.SpotSeal, finish.DewaxedShellac), modern, "vapour fire"},
		{coat(finish.TopcoatCoat, finish.NitroLacquer), modern, "vapour fire"}, {coat(finish.TopcoatCoat, finish.TwoPart), modern, "vapour two-part fire"},
		{do(finish.WipeSolvent)[0], modern, "vapour fire"}, {do(finish.Scrape)[0], old, "dust lead"}, {coat(finish.PaintCoat, finish.Latex), old, "vapour"}, {finish.Step{Kind: finish.LeadTest}, old, "lead"}, {finish.Step{Kind: finish.DustOff}, old, ""},
	} {
		if got := ids(c.step, c.a); got != c.want {
			t.Errorf("%s with %s: %q, want %q", c.step.Kind, c.step.Product.Family, got, c.want)
		}
		for _, id := range strings.Fields(c.want) {
			if h, known := finish.FindHazard(id); !known || h.ID != id || h.Text == "" {
				t.Errorf("FindHazard(%s) = %+v, %v", id, h, known)
			}
		}
	}
	if h, known := finish.FindHazard("boredom"); known {
		t.Errorf("FindHazard(boredom) = %+v", h)
	}
}

// By hand from the defaults: to set up, and for each m².
func TestStep_Attended(t *testing.T) {
	if got, err := sand(120).Attended(2); err != nil || got != 13*time.Minute {
		t.Errorf("sanding 2 m² = %v, %v, want 3 + 5 × 2 min", got, err)
	}
	if got, err := (finish.Step{Kind: finish.Cure}).Attended(2); err != nil || got != 0 {
		t.Errorf("curing = %v, %v, and nobody stands by", got, err)
	}
}
