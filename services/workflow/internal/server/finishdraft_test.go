package server_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *floor) finishPlan(t testing.TB, name string) *workflowv1.FinishPlan {
	t.Helper()
	r, err := f.plans.GetFinishPlan(t.Context(), &workflowv1.GetFinishPlanRequest{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	return r.Plan
}

func TestServer_DraftFinishPlan(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	before := len(f.Events(t))
	r, err := f.plans.DraftFinishPlan(svctest.Ctx(t), d.draft)
	if err != nil {
		t.Fatal(err)
	}
	p := r.Plan
	if p.Name != d.Name+"/finishPlans/1" || p.State != workflowv1.FinishPlan_STATE_DRAFT || p.Etag != `"1"` || p.Actor != svctest.Actor || p.DraftTime == nil {
		t.Errorf("plan = %s, %s, %s by %s", p.Name, p.State, p.Etag, p.Actor)
	}
	if diff := cmp.Diff(d.draft.Parts, p.Parts, protocmp.Transform()); diff != "" {
		t.Errorf("the wishes come back otherwise:\n%s", diff)
	}
	if diff := cmp.Diff(d.draft.Products, p.Products, protocmp.Transform()); diff != "" {
		t.Errorf("the products come back otherwise:\n%s", diff)
	}
	if s := stageOf(p.Stages, "stain (top)"); s.GetProduct() != d.stain || s.GetProductName() != "walnut stain" || s.GetAttendedMinutes() != 16 /* 5 + 9 × 1.2 m² */ || s.GetWhy() == "" {
		t.Errorf("stain = %v", s)
	}
	if s := stageOf(p.Stages, "block-stains (case)"); s.GetProduct() != "" || s.GetProductName() != "dewaxed shellac" || s.GetUnattendedMinutes() != 150 {
		t.Errorf("stain block = %v", s)
	}
	// 1.2 m² ÷ (10 × 50 ÷ 25 m²/L × 0.95) is 0.0632 L a coat.
	if s := stageOf(p.Stages, "topcoat (top)"); s.GetAmount().GetValue() != "0.064" || s.GetNeeds() != workflowv1.DryState_DRY_STATE_RECOAT {
		t.Errorf("topcoat = %v", s)
	}
	needs := map[string]*workflowv1.MaterialNeed{}
	for _, n := range p.Needs {
		needs[n.ProductName] = n
	}
	if n := needs["cream paint"]; n.GetNeeded().GetValue() != "0.553" || n.GetOnHand().GetValue() != "0.1" || n.GetShort().GetValue() != "0.453" || n.GetShort().GetUnit() != "L" {
		t.Errorf("cream paint = %v", n)
	}
	if p.AttendedMinutesLow >= p.AttendedMinutes || p.AttendedMinutes >= p.AttendedMinutesHigh {
		t.Errorf("hands-on %d from %d to %d", p.AttendedMinutes, p.AttendedMinutesLow, p.AttendedMinutesHigh)
	}
	if got := len(f.Events(t)); got != before {
		t.Errorf("a draft told %d events", got-before)
	}
	if diff := cmp.Diff(p, f.finishPlan(t, d.Name), protocmp.Transform()); diff != "" {
		t.Errorf("GetFinishPlan differs:\n%s", diff)
	}
	again, err := f.plans.DraftFinishPlan(svctest.Ctx(t), d.draft)
	if err != nil || !cmp.Equal(r, again, protocmp.Transform()) {
		t.Errorf("asked again = %v, %v", again, err)
	}
}

// A second draft takes the place of the first, under the next number.
func TestServer_DraftFinishPlan_Again(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	first := f.drafted(t, d)
	second, err := f.plans.DraftFinishPlan(svctest.Ctx(t), d.change(func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[0].Topcoats = 3 }))
	if err != nil || second.Plan.Version != 2 || stageOf(second.Plan.Stages, "topcoat-3 (top)") == nil {
		t.Errorf("second draft = %v, %v", second, err)
	}
	svctest.Refused(t, f.Service, f.plans.GetFinishPlan, &workflowv1.GetFinishPlanRequest{Name: first.Name}, fault.NotFound, "PLAN_NOT_FOUND")
}

// Two tops of 1.2 × 0.5 × 0.02 m have 2 × (0.6 + 3.4 × 0.02) = 1.336 m² on one face and the edges.
func TestServer_DraftFinishPlan_ByIntakesMeasures(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	top := d.Parts[0]
	top.Count, top.Length, top.Width, top.Thickness = 2, &typev1.Quantity{Value: "1.2", Unit: "m"}, &typev1.Quantity{Value: "50", Unit: "cm"}, &typev1.Quantity{Value: "20", Unit: "mm"}
	r, err := f.plans.DraftFinishPlan(svctest.Ctx(t), d.change(func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[0].AreaM2 = 0 }))
	if err != nil || r.Plan.Parts[0].AreaM2 != 1.336 {
		t.Errorf("DraftFinishPlan = %v, %v, want 1.336 m²", r.GetPlan().GetParts(), err)
	}
}

func TestServer_DraftFinishPlan_InAZone(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	inZone := func(name string) *workflowv1.DraftFinishPlanRequest {
		return d.change(func(r *workflowv1.DraftFinishPlanRequest) { r.Zone = name })
	}
	svctest.Refused(t, f.Service, f.plans.DraftFinishPlan, inZone("climateZones/cellar"), fault.NotFound, "ZONE_NOT_FOUND")
	svctest.Refused(t, f.Service, f.plans.DraftFinishPlan, inZone("cellar"), fault.Invalid, "INVALID_NAME")
	_, err := f.air.SaveZone(svctest.Ctx(t), &workflowv1.SaveZoneRequest{RequestId: svctest.NewID(),
		Zone: &workflowv1.ClimateZone{Name: "climateZones/bench", DisplayName: "bench", Kind: workflowv1.ClimateZone_KIND_BENCH_ROOM}})
	if err != nil {
		t.Fatal(err)
	}
	if r, err := f.plans.DraftFinishPlan(svctest.Ctx(t), inZone("climateZones/bench")); err != nil || r.Plan.Zone != "climateZones/bench" {
		t.Errorf("DraftFinishPlan = %v, %v", r, err)
	}
}

func TestServer_DraftFinishPlan_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	rags := f.stock.add("rags", "1", nil)
	for name, c := range map[string]struct {
		change func(*workflowv1.DraftFinishPlanRequest)
		kind   fault.Kind
		reason string
		path   string
	}{
		"Piece":     {func(r *workflowv1.DraftFinishPlanRequest) { r.Piece = id.Name("pieces", id.New()) }, fault.NotFound, "PIECE_NOT_FOUND", "piece"},
		"Part":      {func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[1].Part = d.Name + "/parts/" + id.New().String() }, fault.Invalid, "PART_UNKNOWN", "parts[1].part"},
		"PartTwice": {func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[1].Part = r.Parts[0].Part }, fault.Invalid, "PART_TWICE", "parts[1].part"},
		"Area":      {func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[1].AreaM2 = 0 }, fault.Invalid, "AREA_MISSING", "parts[1].area_m2"},
		"LargeArea": {func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[1].AreaM2 = -1 }, fault.Invalid, "OUT_OF_RANGE", "parts[1].area_m2"},
		"Product":   {func(r *workflowv1.DraftFinishPlanRequest) { r.Products[2].Product = id.Name("products", id.New()) }, fault.NotFound, "PRODUCT_NOT_FOUND", "products[2].product"},
		"PartsProduct": {func(r *workflowv1.DraftFinishPlanRequest) {
			r.Parts[0].Products = []*workflowv1.ChosenProduct{{Use: workflowv1.ProductUse_PRODUCT_USE_STAIN, Product: id.Name("products", id.New())}}
		}, fault.NotFound, "PRODUCT_NOT_FOUND", "parts[0].products[0].product"},
		"NoPaint": {func(r *workflowv1.DraftFinishPlanRequest) { r.Products = r.Products[:1] }, fault.Precondition, "PRODUCT_MISSING", ""},
		"NoSheet": {func(r *workflowv1.DraftFinishPlanRequest) { r.Products[1].Product = rags }, fault.Precondition, "COATING_SHEET_MISSING", "products[1].product"},
		"Look":    {func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[0].Look = "gold" }, fault.Invalid, "LOOK_UNKNOWN", "parts[0].look"},
		"Veneer":  {func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[0].Assessment.VeneerMm = 11 }, fault.Invalid, "OUT_OF_RANGE", ""},
		"Defect": {func(r *workflowv1.DraftFinishPlanRequest) {
			r.Parts[1].Assessment.Defects = []string{"dents", "coffee"}
		}, fault.Invalid, "DEFECT_UNKNOWN", "parts[1].assessment.defects[1]"},
		"Family": {func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[1].Assessment.OldFinish = "jam" }, fault.Invalid, "FAMILY_UNKNOWN", "parts[1].assessment.old_finish"},
		"NextYear": {func(r *workflowv1.DraftFinishPlanRequest) {
			r.Parts[0].Assessment.PaintedIn = int32(time.Now().Year() + 1)
		}, fault.Invalid, "OUT_OF_RANGE", "parts[0].assessment.painted_in"},
		"Year2951":   {func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[0].Assessment.PaintedIn = 2951 }, fault.Invalid, "OUT_OF_RANGE", "parts[0].assessment.painted_in"},
		"YearBelow0": {func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[0].Assessment.PaintedIn = -5 }, fault.Invalid, "INVALID_FIELD", "parts[0].assessment.painted_in"},
		"Metal": {func(r *workflowv1.DraftFinishPlanRequest) {
			r.Parts[0].Assessment.Material, r.Parts[0].Assessment.Species = workflowv1.Assessment_MATERIAL_METAL, ""
		}, fault.Precondition, "PLAN_IMPOSSIBLE", ""},
	} {
		g := svctest.Refused(t, f.Service, f.plans.DraftFinishPlan, d.change(c.change), c.kind, c.reason)
		if c.path != "" && (len(g.Fields) != 1 || g.Fields[0].Path != c.path) {
			t.Errorf("%s: refused at %v, want %s", name, g.Fields, c.path)
		}
	}
	f.approved(t, d)
	svctest.Refused(t, f.Service, f.plans.DraftFinishPlan, d.change(func(*workflowv1.DraftFinishPlanRequest) {}), fault.Precondition, "PIECE_ALREADY_PLANNED")
	other := f.dresser()
	other.State = intakev1.Piece_STATE_SCRAPPED
	svctest.Refused(t, f.Service, f.plans.DraftFinishPlan, other.draft, fault.Precondition, "PIECE_SCRAPPED")
	for _, name := range []string{d.Name + "/finishPlans/9", id.Name("pieces", id.New())} {
		svctest.Refused(t, f.Service, f.plans.GetFinishPlan, &workflowv1.GetFinishPlanRequest{Name: name}, fault.NotFound, "PLAN_NOT_FOUND")
	}
	for _, name := range []string{d.Name + "/finishPlans/0", d.Name + "/finishPlans/01", d.Name + "/finishPlans/", "x"} {
		svctest.Refused(t, f.Service, f.plans.GetFinishPlan, &workflowv1.GetFinishPlanRequest{Name: name}, fault.Invalid, "INVALID_NAME")
	}
}

// A piece of twelve parts is drafted at one go.
func TestServer_DraftFinishPlan_TwelveParts(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	d.Piece = f.intake.add("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
	d.draft = d.change(func(r *workflowv1.DraftFinishPlanRequest) {
		wishes := r.Parts
		r.Piece, r.Parts = d.Name, nil
		for i, part := range d.Parts {
			w := cloneOf(wishes[i%2])
			w.Part = part.Name
			r.Parts = append(r.Parts, w)
		}
	})
	f.drafted(t, d) // so that connections are open
	start := time.Now()
	p := f.drafted(t, d)
	t.Logf("%d stages of twelve parts drafted in %s", len(p.Stages), time.Since(start))
	for _, part := range d.Parts {
		if stageOf(p.Stages, "clean ("+part.Label+")") == nil {
			t.Errorf("part %s is not planned", part.Label)
		}
	}
}

// A top with a chip and a loose joint is mended; what its old coating is nobody can tell, so
// the plan goes by what holds on any. All of it comes back as it was said.
func TestServer_DraftFinishPlan_DefectsAndAnUnknownCoating(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	r := d.change(func(r *workflowv1.DraftFinishPlanRequest) {
		r.Parts[0].Assessment.Defects = []string{"veneer chip", "loose joint"}
		r.Parts[1].Assessment.OldFinish = "unknown"
	})
	got, err := f.plans.DraftFinishPlan(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(r.Parts, got.Plan.Parts, protocmp.Transform()); diff != "" {
		t.Errorf("the wishes come back otherwise:\n%s", diff)
	}
	for _, kind := range []string{"glue_and_clamp", "veneer_repair"} {
		if !slices.ContainsFunc(got.Plan.Stages, func(s *workflowv1.PlannedStage) bool { return s.Kind == kind && s.PartLabel == "top" }) {
			t.Errorf("the plan has no %s", kind)
		}
	}
}

func TestServer_Rules(t *testing.T) {
	t.Parallel()
	f := setup(t)
	list, err := f.plans.ListRules(t.Context(), &workflowv1.ListRulesRequest{})
	if err != nil || len(list.Rules) < 20 {
		t.Fatalf("ListRules = %v, %v", list, err)
	}
	for _, rule := range list.Rules {
		got, err := f.plans.ExplainRule(t.Context(), &workflowv1.ExplainRuleRequest{Name: rule.Name})
		if err != nil || !cmp.Equal(rule, got.Rule, protocmp.Transform()) || rule.Severity == 0 || rule.Says == "" || rule.Why == "" || rule.Instead == "" || rule.Source == "" {
			t.Errorf("ExplainRule(%s) = %v, %v, want %v", rule.Name, got, err, rule)
		}
	}
	svctest.Refused(t, f.Service, f.plans.ExplainRule, &workflowv1.ExplainRuleRequest{Name: "rules/sand-by-moonlight"}, fault.NotFound, "RULE_UNKNOWN")
	svctest.Refused(t, f.Service, f.plans.ExplainRule, &workflowv1.ExplainRuleRequest{Name: "stain-bare-wood"}, fault.Invalid, "INVALID_NAME")
}

// A dresser that was found free of lead is planned without another test.
func TestServer_DraftFinishPlan_TestedBefore(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	if stageOf(f.drafted(t, d).Stages, "lead-test (case)") == nil {
		t.Error("a case painted in 1950 is not tested for lead")
	}
	f.free(t, d.Name)
	if stageOf(f.drafted(t, d).Stages, "lead-test (case)") != nil {
		t.Error("a case without lead is tested once more")
	}
}
