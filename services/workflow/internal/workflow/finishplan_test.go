package workflow_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/coating"
	"tackfree/pkg/datasheet"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// The products of the tests' shop.
var (
	walnutStain = workflow.PlanProduct{ID: id.New(), Name: "walnut stain", OnHand: litres("0.05"), Sheet: &datasheet.Sheet{
		Family: finish.OilVarnish, Carrier: drying.Solvent, Method: coating.Wipe, Recoat: 8 * time.Hour, Cure: 24 * time.Hour}}
	varnish = workflow.PlanProduct{ID: id.New(), Name: "wiping varnish", OnHand: litres("2"), Sheet: &datasheet.Sheet{
		Family: finish.OilVarnish, Carrier: drying.Oil, Method: coating.Brush, SolidsPercent: 50, DryFilmUm: 25, ThinningPercent: 25, Sand: 12 * time.Hour,
		Recoat: 12 * time.Hour, RecoatCloses: 72 * time.Hour, Cure: 7 * 24 * time.Hour}}
	creamPaint = workflow.PlanProduct{ID: id.New(), Name: "cream paint", OnHand: litres("0.1"), Sheet: &datasheet.Sheet{
		Family: finish.WaterAcrylic, Carrier: drying.Water, Light: true, Method: coating.Brush, SolidsPercent: 40, DryFilmUm: 30, Sand: 2 * time.Hour,
		Recoat: 4 * time.Hour, Cure: 7 * 24 * time.Hour, MinCelsius: 12, MaxCelsius: 28, MaxHumidity: 70}}
)

func litres(value string) *workflow.PlanAmount {
	return &workflow.PlanAmount{Value: decimal.RequireFromString(value), Unit: "L"}
}

// dresser is a stained veneer top and a painted oak case under old varnish of 1950, with
// whatever is to be different.
func dresser(change func(*workflow.PlanBody)) workflow.PlanBody {
	b := workflow.PlanBody{
		Products: []workflow.PlanProduct{walnutStain, varnish, creamPaint},
		Choices:  []workflow.PlanChoice{{Use: workflow.UseStain, Product: walnutStain.ID}, {Use: workflow.UsePaint, Product: creamPaint.ID}, {Use: workflow.UseTopcoat, Product: varnish.ID}},
		Parts: []workflow.PlanPart{
			{ID: id.New(), Label: "top", Material: finish.Veneer, VeneerMM: 0.8, Species: "walnut", OldFinish: finish.OilVarnish, PaintedIn: 1990, AreaM2: 1.2, Look: finish.Stained, Topcoats: 2},
			{ID: id.New(), Label: "case", Material: finish.SolidWood, Species: "oak", OldFinish: finish.OilVarnish, PaintedIn: 1950, AreaM2: 3.5, Look: finish.Painted, Coats: 2},
		},
	}
	if change != nil {
		change(&b)
	}
	return b
}

func noHistory(t testing.TB) *workflow.Labour {
	t.Helper()
	l, err := workflow.NewLabour(nil)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// drafted is a draft of a dresser.
func drafted(t testing.TB, change func(*workflow.PlanBody)) workflow.PlanBody {
	t.Helper()
	b, err := dresser(change).Draft(noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func titled(b workflow.PlanBody, title string) (int, workflow.PlanStage) {
	i := slices.IndexFunc(b.Stages, func(s workflow.PlanStage) bool { return s.Title() == title })
	if i < 0 {
		return i, workflow.PlanStage{}
	}
	return i, b.Stages[i]
}

func TestPlanBody_Draft(t *testing.T) {
	b := drafted(t, nil)
	for _, title := range []string{"hardware-off", "strip (top)", "stain (top)", "topcoat (top)", "topcoat-2 (top)", "lead-test (case)", "block-stains (case)", "paint-2 (case)", "film-check", "hardware-on", "hardware-check", "inspect"} {
		if i, _ := titled(b, title); i < 0 {
			t.Errorf("the draft has no %s", title)
		}
	}
	if _, s := titled(b, "stain (top)"); s.Product != walnutStain.ID || s.ProductName != "walnut stain" || s.Skill != "finish" {
		t.Errorf("stain = %+v", s)
	}
	if _, s := titled(b, "block-stains (case)"); s.Product != id.Nil || s.ProductName != "dewaxed shellac" {
		t.Errorf("stain block = %+v, want what every shop mixes", s)
	}
	if slices.ContainsFunc(b.Findings, func(f workflow.PlanFinding) bool {
		return strings.HasSuffix(f.Rule.ID, "-check") || f.Rule.ID == "adhesion-test"
	}) {
		t.Errorf("what is looked at is not seen: %+v", b.Findings)
	}
	if !b.Approvable() {
		t.Errorf("what was planned breaks rules: %+v", b.Findings)
	}
	if b.Hands.Low >= b.Hands.Likely || b.Hands.Likely >= b.Hands.High || b.Hands.Low <= 0 {
		t.Errorf("Hands = %+v, want a range", b.Hands)
	}
	for _, s := range b.Stages {
		for _, before := range s.After {
			if i, _ := titled(b, before); i < 0 || i > slices.IndexFunc(b.Stages, func(o workflow.PlanStage) bool { return o.Title() == s.Title() }) {
				t.Errorf("%s comes before %s", s.Title(), before)
			}
		}
	}
}

// By hand, of the varnish: 10 × 50 ÷ 25 = 20 m²/L, of which 95 % gets onto the piece by
// brush: two coats of 1.2 m² take 2.4 ÷ 19 = 0.12632 L. Of the paint 10 × 40 ÷ 30 = 13.33
// m²/L: two coats of 3.5 m² take 7 ÷ 12.667 = 0.55263 L, and 0.1 L is on hand.
func TestPlanBody_Draft_Needs(t *testing.T) {
	b := drafted(t, nil)
	got := map[string]workflow.PlanNeed{}
	for _, n := range b.Needs {
		got[n.Name] = n
	}
	if n := got["wiping varnish"]; n.Needed == nil || n.Needed.Value.String() != "0.127" || n.Short != nil || n.OnHand.Value.String() != "2" || n.Product != varnish.ID {
		t.Errorf("varnish = %+v", n)
	}
	if n := got["cream paint"]; n.Needed == nil || n.Needed.Value.String() != "0.553" || n.Short == nil || n.Short.Value.String() != "0.453" {
		t.Errorf("paint = %+v", n)
	}
	if n := got["walnut stain"]; n.Needed != nil || n.Short != nil || n.OnHand == nil {
		t.Errorf("stain, of which no film is known = %+v", n)
	}
	if n := got["dewaxed shellac"]; n.Product != id.Nil || n.OnHand != nil {
		t.Errorf("shellac = %+v", n)
	}
}

// The shop takes half as much again of the varnish as its sheet says: 0.12632 L × 1.5 = 0.18947 L.
// What a stage takes stays as the sheet says.
func TestPlanBody_Draft_NeedsByWhatTheShopTakes(t *testing.T) {
	heavy := varnish
	heavy.Factor = 1.5
	b := drafted(t, func(b *workflow.PlanBody) { b.Products[1] = heavy })
	i := slices.IndexFunc(b.Needs, func(n workflow.PlanNeed) bool { return n.Name == "wiping varnish" })
	if n := b.Needs[i]; n.Needed == nil || n.Needed.Value.String() != "0.19" {
		t.Errorf("varnish = %+v, want 0.19 L", n)
	}
	if _, s := titled(b, "topcoat (top)"); s.Amount().Value.String() != "0.064" {
		t.Errorf("one coat takes %v, want 0.064 L", s.Amount())
	}
}

func TestPlanBody_Draft_PartOfItsOwn(t *testing.T) {
	b := drafted(t, func(b *workflow.PlanBody) {
		b.Products = append(b.Products, workflow.PlanProduct{ID: id.New(), Name: "black paint", Sheet: creamPaint.Sheet})
		b.Parts[1].Choices = []workflow.PlanChoice{{Use: workflow.UsePaint, Product: b.Products[3].ID}}
	})
	if _, s := titled(b, "paint (case)"); s.ProductName != "black paint" {
		t.Errorf("paint of the case = %q, want the one chosen for it alone", s.ProductName)
	}
}

func TestPlanBody_Draft_Refuses(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*workflow.PlanBody)
		reason string
		path   string
	}{
		"PartTwice":    {func(b *workflow.PlanBody) { b.Parts[1].Label = "top" }, "PART_TWICE", "parts[1].part"},
		"NoSuchLook":   {func(b *workflow.PlanBody) { b.Parts[1].Look = "gold" }, "LOOK_UNKNOWN", "parts[1].look"},
		"NothingToUse": {func(b *workflow.PlanBody) { b.Choices = b.Choices[1:] }, "PRODUCT_MISSING", ""},
		"NoSheet":      {func(b *workflow.PlanBody) { b.Products[1].Sheet = nil }, "COATING_SHEET_MISSING", "products[2].product"},
		"NoSheetOfAPart": {func(b *workflow.PlanBody) {
			b.Products = append(b.Products, workflow.PlanProduct{ID: id.New(), Name: "rags"})
			b.Parts[1].Choices = []workflow.PlanChoice{{Use: workflow.UsePaint, Product: b.Products[3].ID}}
		}, "COATING_SHEET_MISSING", "parts[1].products[0].product"},
		"StainOnMetal":  {func(b *workflow.PlanBody) { b.Parts[0].Material, b.Parts[0].Species = finish.Metal, "" }, "PLAN_IMPOSSIBLE", ""},
		"LargerThanAny": {func(b *workflow.PlanBody) { b.Parts[0].AreaM2 = 101 }, "OUT_OF_RANGE", "parts[0].area"},
		"TooManyOfThem": {func(b *workflow.PlanBody) {
			for len(b.Parts) < 60 {
				p := b.Parts[0]
				p.Label = strings.Repeat("x", len(b.Parts))
				b.Parts = append(b.Parts, p)
			}
		}, "PLAN_TOO_LARGE", "parts"},
	} {
		_, err := dresser(c.change).Draft(noHistory(t))
		f := fault.Of(err)
		if !fault.Is(err, c.reason) || c.path != "" && (len(f.Fields) == 0 || f.Fields[0].Path != c.path) {
			t.Errorf("%s: Draft = %v (%+v), want %s at %s", name, err, f, c.reason, c.path)
		}
	}
}

// A panel of 1.2 × 0.5 × 0.02 m: 2 × 0.6 m² and 0.02 × (2.4 + 1.0) m² of edges are 1.268 m²,
// and there are two.
func TestMeasures_Area(t *testing.T) {
	m := workflow.Measures{Length: 1.2, Width: 0.5, Thickness: 0.02, Count: 2}
	if got, err := m.Area("shelf"); err != nil || got < 2.5359 || got > 2.5361 {
		t.Errorf("Area = %v, %v, want 2.536", got, err)
	}
	m.Thickness = 0
	if got, err := m.Area("shelf"); err != nil || got < 2.3999 || got > 2.4001 {
		t.Errorf("Area without edges = %v, %v, want 2.4", got, err)
	}
	m.Width = 0
	if _, err := m.Area("shelf"); !fault.Is(err, "AREA_MISSING") {
		t.Errorf("Area of a width alone = %v, want AREA_MISSING", err)
	}
}

// approved makes a draft the plan of a piece, and gives its stages by title.
func approved(t *testing.T, b workflow.PlanBody) (workflow.FinishPlan, workflow.Plan, map[string]workflow.Stage) {
	t.Helper()
	plan := workflow.FinishPlan{Piece: id.New(), Version: 1, State: workflow.PlanDraft, PlanBody: b}
	laid, err := plan.Approve(workflow.Piece{ID: plan.Piece, Version: 4}, nil, "Nell", nine, id.New)
	if err != nil {
		t.Fatal(err)
	}
	return plan, laid, stagesOf(laid.Stages)
}

func stagesOf(stages []workflow.Stage) map[string]workflow.Stage {
	out := map[string]workflow.Stage{}
	for _, s := range stages {
		out[s.Title()] = s
	}
	return out
}

func TestFinishPlan_Approve_LaysOut(t *testing.T) {
	zone := id.New()
	plan, laid, stages := approved(t, drafted(t, func(b *workflow.PlanBody) { b.Zone = zone }))
	if !laid.Piece.Planned || laid.Piece.Version != 5 || plan.State != workflow.PlanApproved || plan.Actor != "Nell" || plan.ApprovedAt != nine {
		t.Errorf("piece %+v, plan %s by %s at %s", laid.Piece, plan.State, plan.Actor, plan.ApprovedAt)
	}
	at := map[id.ID]int32{}
	for i, s := range laid.Stages {
		for _, before := range s.After {
			if at[before] == 0 {
				t.Errorf("%s comes before what it waits for", s.Title())
			}
		}
		if at[s.ID] = s.Position; s.Position != int32(i+1) || plan.Stages[i].ID != s.ID || s.Zone != zone {
			t.Errorf("%s is at %d in %s, the plan's is %s", s.Title(), s.Position, s.Zone, plan.Stages[i].ID)
		}
	}
	// By hand: 25 µm dry ÷ (0.5 ÷ 1.25) is 62.5 µm wet.
	coat := stages["topcoat (top)"]
	if coat.Coating == nil || coat.Coating.Dries.Stated[drying.DryToRecoat] != 12*time.Hour || coat.Coating.Limits.MaxHumidity != 85 {
		t.Errorf("topcoat dries as %+v", coat.Coating)
	}
	if coat.WetFilmUm != 62.5 || coat.AreaM2 != 1.2 || coat.Part != plan.Parts[0].ID || coat.Coating.Dries.FilmUm != 62.5 {
		t.Errorf("topcoat = %v µm on %v m² of %s", coat.WetFilmUm, coat.AreaM2, coat.Part)
	}
	if paint := stages["paint (case)"]; paint.Coating.Limits.MaxCelsius != 28 || paint.Coating.Limits.Spread != 3 {
		t.Errorf("paint stands %+v", paint.Coating.Limits)
	}
	if stain := stages["stain (top)"]; stain.Coating == nil || stain.WetFilmUm != 0 || stain.Coating.Dries.FilmUm != 1 {
		t.Errorf("stain dries as %+v, %v µm", stain.Coating, stain.WetFilmUm)
	}
	if sand := stages["sand (top)"]; sand.Coating != nil || sand.Grit == "" || !slices.Contains(sand.Cautions, "dust") {
		t.Errorf("sanding = %+v", sand)
	}
}

// The case was painted in 1950: the first sanding makes dust of that, later ones only of our
// own stain block. The top was painted in 1990, and strip takes that off.
func TestFinishPlan_Approve_OldCoatings(t *testing.T) {
	disturbing := func(change func(*workflow.PlanBody)) (titles []string) {
		_, laid, _ := approved(t, drafted(t, change))
		for _, s := range laid.Stages {
			if s.DisturbsOld {
				titles = append(titles, s.Title())
			}
		}
		return titles
	}
	if got := disturbing(nil); !slices.Equal(got, []string{"scuff-sand (case)"}) {
		t.Errorf("disturbing the old coatings: %v, want the first sanding of the case", got)
	}
	unknown := func(b *workflow.PlanBody) { b.Parts[0].PaintedIn = 0 }
	if got := disturbing(unknown); !slices.Equal(got, []string{"strip (top)", "scuff-sand (case)"}) {
		t.Errorf("with a top of unknown age: %v, want its stripping too, and nothing after that", got)
	}
	bare := func(b *workflow.PlanBody) { b.Parts[1].OldFinish = "" }
	if got := disturbing(bare); got != nil {
		t.Errorf("with a bare case: %v, want none", got)
	}
}
