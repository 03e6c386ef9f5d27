package finish_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

func find(t *testing.T, stages []finish.Stage, title string) finish.Stage {
	t.Helper()
	for _, s := range stages {
		if s.Title() == title {
			return s
		}
	}
	t.Fatalf("no stage is called %s", title)
	return finish.Stage{}
}

func planPiece(t *testing.T, parts []finish.Part, p finish.Palette) []finish.Stage {
	t.Helper()
	stages, err := finish.PlanPiece(parts, p)
	if err != nil {
		t.Fatal(err)
	}
	return stages
}

// The oil stain cures 6 h before water-borne varnish: 4 h it would dry to recoat, so the
// rest is waited for in the same stage; a tie coat of shellac would take longer. The varnish has a window of 24 h.
func TestPlanPiece_WaitsAreNoStages(t *testing.T) {
	p := palette
	p.Topcoat = product(finish.OilVarnish)
	p.Topcoat.RecoatCloses = 24 * time.Hour
	p.Stain = quick(finish.OilVarnish)
	wood := finish.Assessment{Material: finish.SolidWood, Species: "beech"}
	stages := planPiece(t, []finish.Part{
		{Label: "top", AreaM2: 1, Assessment: wood, Wanted: finish.Wanted{Look: finish.Stained, Topcoats: 1}, Palette: &finish.Palette{Topcoat: product(finish.WaterPolyurethane)}},
		{Label: "case", AreaM2: 1, Assessment: wood, Wanted: finish.Wanted{Look: finish.Clear, Topcoats: 2}},
		{Label: "legs", AreaM2: 1, Assessment: wood, Wanted: finish.Wanted{Look: finish.Clear, Topcoats: 2}, Palette: &finish.Palette{Topcoat: windowed(finish.NitroLacquer)}},
	}, p)
	for title, want := range map[string]struct {
		needs        finish.Needs
		wait, latest time.Duration
	}{
		"stain (top)": {"", 6 * time.Hour, 0}, "topcoat (top)": {finish.NeedsCured, 72 * time.Hour, 0}, "hardware-on": {finish.NeedsCured, 0, 0}, "inspect": {finish.NeedsCured, 0, 0},
		"topcoat (case)": {"", 4 * time.Hour, 0}, "scuff-sand (case)": {finish.NeedsSand, 0, 0}, "topcoat-2 (case)": {finish.NeedsRecoat, 72 * time.Hour, 0},
		"topcoat (legs)": {"", 4 * time.Hour, 24 * time.Hour}, "topcoat-2 (legs)": {finish.NeedsRecoat, 72 * time.Hour, 0}, "sand (case)": {},
	} {
		if s := find(t, stages, title); s.Needs != want.needs || s.Step.Wait != want.wait || s.Latest != want.latest {
			t.Errorf("%s needs %q, waits %v and closes after %v; want %+v", title, s.Needs, s.Step.Wait, s.Latest, want)
		}
	}
	for _, s := range stages {
		if s.Step.Kind == finish.Dry || s.Step.Kind == finish.Cure {
			t.Errorf("%s is nobody's work", s.Title())
		}
	}
}

// A film that is merely dry is not waxed, nor is another kind of paint put on oil; what is
// scuffed after it has cured needs that too. A glaze is not scuffed, so its window is no end.
func TestPlanPiece_NeedsCured(t *testing.T) {
	soon := product(finish.NitroLacquer)
	soon.Cure = soon.Recoat
	wood := finish.Assessment{Material: finish.SolidWood, Species: "beech"}
	p := finish.Palette{Paint: quick(finish.OilVarnish), Glaze: quick(finish.OilVarnish), Topcoat: product(finish.WaterPolyurethane), Wax: product(finish.Wax), Toner: product(finish.NitroLacquer)}
	p.Glaze.RecoatCloses = 5 * time.Hour
	stages := planPiece(t, []finish.Part{
		{Label: "case", AreaM2: 1, Assessment: wood, Wanted: finish.Wanted{Look: finish.Painted, Coats: 1, Topcoats: 1}},
		{Label: "front", AreaM2: 1, Assessment: wood, Wanted: finish.Wanted{Look: finish.Glazed, Coats: 1, Topcoats: 1}},
		{Label: "lid", AreaM2: 1, Assessment: wood, Wanted: finish.Wanted{Look: finish.Clear, Waxed: true}, Palette: &finish.Palette{Topcoat: soon}},
		{Label: "rail", AreaM2: 1, Assessment: wood, Wanted: finish.Wanted{Look: finish.Clear, Waxed: true}, Palette: &finish.Palette{Topcoat: windowed(finish.NitroLacquer)}},
		{Label: "leg", AreaM2: 1, Assessment: wood, Wanted: finish.Wanted{Look: finish.Painted, Coats: 1, Waxed: true}, Palette: &finish.Palette{Paint: product(finish.ChalkPaint)}},
		{Label: "edge", AreaM2: 1, Assessment: wood, Wanted: finish.Wanted{Look: finish.Toned}},
	}, p)
	for title, want := range map[string]finish.Needs{"scuff-sand (case)": finish.NeedsCured, "topcoat (case)": finish.NeedsCured, "topcoat (front)": finish.NeedsCured, "wax (lid)": finish.NeedsCured,
		"wax (rail)": finish.NeedsCured, "wax (leg)": finish.NeedsRecoat} {
		if s := find(t, stages, title); s.Needs != want {
			t.Errorf("%s needs %q, want %q", title, s.Needs, want)
		}
	}
	if s := find(t, stages, "glaze (front)"); s.Latest != 0 || s.Step.Wait != 6*time.Hour {
		t.Errorf("the glaze waits %v and closes after %v", s.Step.Wait, s.Latest)
	}
	if s := find(t, stages, "tone (edge)"); s.Station != "booth" || s.Skill != "spray" {
		t.Errorf("the toner is put on at the %s by %s", s.Station, s.Skill)
	}
	if slices.ContainsFunc(stages, func(s finish.Stage) bool { return s.Part == "rail" && s.Step.Kind == finish.ScuffSand }) {
		t.Error("what is waxed is scuffed first")
	}
}

// quick cures sooner than a coat of shellac would take another.
func quick(f finish.Family) *finish.Product {
	p := product(f)
	p.Cure = 6 * time.Hour
	return p
}

func windowed(f finish.Family) *finish.Product {
	p := product(f)
	p.RecoatCloses = 24 * time.Hour
	return p
}

// 2 m² of 40 % solids at 40 µm are 0.2 L on the piece; by brush 95 % of it arrives, and what
// a gun loses in the air and in the hose comes on top.
func TestPlanPiece_Litres(t *testing.T) {
	part := finish.Part{Label: "back", AreaM2: 2, Assessment: finish.Assessment{Material: finish.MDF}, Wanted: finish.Wanted{Look: finish.Painted, Coats: 1}}
	for name, c := range map[string]struct {
		change  func(*finish.Product)
		want    float64
		station string
		skill   string
	}{
		"Brush":   {func(*finish.Product) {}, 0.2 / 0.95, "bench", "finish"},
		"HVLP":    {func(p *finish.Product) { p.Method, p.LossPerSetUpLitres = coating.HVLP, 0.05 }, 0.2/0.65 + 0.05, "booth", "spray"},
		"Own":     {func(p *finish.Product) { p.TransferPercent = 80 }, 0.25, "bench", "finish"},
		"Unknown": {func(p *finish.Product) { p.DryFilmUm = 0 }, 0, "bench", "finish"},
	} {
		p := product(finish.OilVarnish)
		p.SolidsPercent, p.DryFilmUm = 40, 40
		c.change(p)
		s := find(t, planPiece(t, []finish.Part{part}, finish.Palette{Paint: p}), "paint (back)")
		if math.Abs(s.Litres-c.want) > 1e-9 || s.Station != c.station || s.Skill != c.skill {
			t.Errorf("%s takes %v L at the %s by %s, want %v, %s, %s", name, s.Litres, s.Station, s.Skill, c.want, c.station, c.skill)
		}
	}
	part.AreaM2 = 0
	paint := product(finish.OilVarnish)
	paint.SolidsPercent, paint.DryFilmUm = 40, 40
	if s := find(t, planPiece(t, []finish.Part{part}, finish.Palette{Paint: paint}), "paint (back)"); s.Litres != 0 {
		t.Errorf("an area that nobody measured takes %v L", s.Litres)
	}
}

func TestProduct_Refuses(t *testing.T) {
	part := []finish.Part{{Label: "back", AreaM2: 2, Assessment: finish.Assessment{Material: finish.MDF}, Wanted: finish.Wanted{Look: finish.Painted}}}
	for reason, changes := range map[string][]func(*finish.Product){
		"METHOD_UNKNOWN": {func(p *finish.Product) { p.Method = "bucket" }},
		"OUT_OF_RANGE": {func(p *finish.Product) { p.SolidsPercent = 101 }, func(p *finish.Product) { p.DryFilmUm = -1 }, func(p *finish.Product) { p.ThinningPercent = -1 },
			func(p *finish.Product) { p.TransferPercent = 120 }, func(p *finish.Product) { p.LossPerSetUpLitres = math.NaN() }},
	} {
		for i, change := range changes {
			p := product(finish.OilVarnish)
			p.SolidsPercent, p.DryFilmUm = 40, 40
			change(p)
			if stages, err := finish.PlanPiece(part, finish.Palette{Paint: p}); !fault.Is(err, reason) || stages != nil {
				t.Errorf("%d: %v, want %s", i, err, reason)
			}
		}
	}
}

// What each product takes over all parts; of two without an ID the names tell them apart.
func TestAmounts(t *testing.T) {
	paint, shellac := finish.Product{ID: "p1", Name: "cream"}, finish.Product{Name: "shellac"}
	renamed := paint
	renamed.Name = "cream, new can"
	stage := func(p finish.Product, litres float64) finish.Stage {
		return finish.Stage{Step: finish.Step{Product: p}, Litres: litres}
	}
	got := finish.Amounts([]finish.Stage{stage(paint, 0.25), stage(finish.Product{}, 0), stage(shellac, 0), stage(renamed, 0.5), stage(shellac, 0.125)})
	want := []finish.Amount{{Product: paint, Litres: 0.75, Stages: 2}, {Product: shellac, Litres: 0.125, Stages: 2}}
	if len(got) != 2 || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("Amounts = %+v, want %+v", got, want)
	}
}
