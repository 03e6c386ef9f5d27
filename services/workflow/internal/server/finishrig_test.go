package server_test

import (
	"slices"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// add puts a product on the shelf; without a sheet it is no coating.
func (f *materialsFake) add(name, litres string, sheet *typev1.CoatingSheet) string {
	p := &materialsv1.Product{Name: id.Name("products", id.New()), DisplayName: name, Unit: "L", OnHand: &typev1.Quantity{Value: litres, Unit: "L"}, CoatingSheet: sheet}
	f.products[p.Name] = p
	return p.Name
}

func varnishSheet() *typev1.CoatingSheet {
	return &typev1.CoatingSheet{Family: typev1.FilmFamily_FILM_FAMILY_OIL_VARNISH, Carrier: typev1.Carrier_CARRIER_OIL, VolumeSolidsPercent: 50, DryFilmUm: 25,
		SandMinutes: 720, RecoatMinutes: 720, RecoatClosesMinutes: 4320, CureMinutes: 10080}
}

func stainSheet() *typev1.CoatingSheet {
	return &typev1.CoatingSheet{Family: typev1.FilmFamily_FILM_FAMILY_OIL_VARNISH, Carrier: typev1.Carrier_CARRIER_SOLVENT,
		Method: typev1.ApplicationMethod_APPLICATION_METHOD_WIPE, RecoatMinutes: 480, CureMinutes: 1440}
}

func creamSheet() *typev1.CoatingSheet {
	return &typev1.CoatingSheet{Family: typev1.FilmFamily_FILM_FAMILY_WATER_ACRYLIC, Carrier: typev1.Carrier_CARRIER_WATER, Light: true, VolumeSolidsPercent: 40, DryFilmUm: 30,
		SandMinutes: 120, RecoatMinutes: 240, CureMinutes: 10080}
}

// dresser is a piece with a veneered top that is to be stained and an oak case, painted in
// 1950, that is to be painted; and the products for it.
type dresser struct {
	*intakev1.Piece
	draft                 *workflowv1.DraftFinishPlanRequest
	stain, varnish, cream string
}

func (f *floor) dresser() *dresser {
	d := &dresser{Piece: f.intake.add("top", "case"), stain: f.stock.add("walnut stain", "0.5", stainSheet()),
		varnish: f.stock.add("wiping varnish", "2", varnishSheet()), cream: f.stock.add("cream paint", "0.1", creamSheet())}
	d.draft = &workflowv1.DraftFinishPlanRequest{RequestId: svctest.NewID(), Piece: d.Name,
		Products: []*workflowv1.ChosenProduct{{Use: workflowv1.ProductUse_PRODUCT_USE_STAIN, Product: d.stain},
			{Use: workflowv1.ProductUse_PRODUCT_USE_PAINT, Product: d.cream}, {Use: workflowv1.ProductUse_PRODUCT_USE_TOPCOAT, Product: d.varnish}},
		Parts: []*workflowv1.PartWish{
			{Part: d.Parts[0].Name, AreaM2: 1.2, Look: "stain", Topcoats: 2, Assessment: &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_VENEER,
				VeneerMm: 0.8, Species: "walnut", OldFinish: "alkyd or oil varnish", PaintedIn: 1990}},
			{Part: d.Parts[1].Name, AreaM2: 3.5, Look: "paint", Coats: 2, Assessment: &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_SOLID_WOOD,
				Species: "oak", OldFinish: "alkyd or oil varnish", PaintedIn: 1950}},
		}}
	return d
}

// change is another draft of the dresser.
func (d *dresser) change(change func(*workflowv1.DraftFinishPlanRequest)) *workflowv1.DraftFinishPlanRequest {
	r := cloneOf(d.draft)
	r.RequestId = svctest.NewID()
	change(r)
	return r
}

func (f *floor) drafted(t testing.TB, d *dresser) *workflowv1.FinishPlan {
	t.Helper()
	r, err := f.plans.DraftFinishPlan(svctest.Ctx(t), d.change(func(*workflowv1.DraftFinishPlanRequest) {}))
	if err != nil {
		t.Fatal(err)
	}
	return r.Plan
}

func approving(piece string, stages []*workflowv1.PlannedStage, overrides ...*workflowv1.Override) *workflowv1.ApproveFinishPlanRequest {
	return &workflowv1.ApproveFinishPlanRequest{RequestId: svctest.NewID(), Piece: piece, Stages: stages, Overrides: overrides}
}

func amending(piece string, stages []*workflowv1.PlannedStage, overrides ...*workflowv1.Override) *workflowv1.AmendFinishPlanRequest {
	return &workflowv1.AmendFinishPlanRequest{RequestId: svctest.NewID(), Piece: piece, Stages: stages, Overrides: overrides, Reason: "the client wants more wear"}
}

// approved drafts and approves a dresser that was tested for lead, and gives its stages by
// title.
func (f *floor) approved(t testing.TB, d *dresser) (*workflowv1.FinishPlan, map[string]*workflowv1.Stage) {
	t.Helper()
	f.drafted(t, d)
	f.free(t, d.Name)
	r, err := f.plans.ApproveFinishPlan(svctest.Ctx(t), approving(d.Name, nil))
	if err != nil {
		t.Fatal(err)
	}
	f.know(r.Stages)
	return r.Plan, byTitle(r.Stages)
}

func byTitle(stages []*workflowv1.Stage) map[string]*workflowv1.Stage {
	out := map[string]*workflowv1.Stage{}
	for _, s := range stages {
		out[title(s.Key, s.PartLabel)] = s
	}
	return out
}

func title(key, part string) string {
	if part == "" {
		return key
	}
	return key + " (" + part + ")"
}

// stageOf finds a stage of a plan; nil: there is none.
func stageOf(stages []*workflowv1.PlannedStage, name string) *workflowv1.PlannedStage {
	for _, s := range stages {
		if title(s.Key, s.PartLabel) == name {
			return s
		}
	}
	return nil
}

func cloned(stages []*workflowv1.PlannedStage) []*workflowv1.PlannedStage {
	var out []*workflowv1.PlannedStage
	for _, s := range stages {
		out = append(out, cloneOf(s))
	}
	return out
}

// without takes a stage out: what came after it comes after what it came after.
func without(stages []*workflowv1.PlannedStage, name string) (left []*workflowv1.PlannedStage) {
	gone := stageOf(stages, name)
	for _, s := range cloned(stages) {
		if title(s.Key, s.PartLabel) == name {
			continue
		}
		if i := slices.Index(s.After, name); i >= 0 {
			s.After = slices.Concat(s.After[:i:i], gone.After, s.After[i+1:])
		}
		left = append(left, s)
	}
	return left
}

// anotherTopcoat puts a third topcoat on the top, scuffed and dusted, before the film is
// looked at.
func anotherTopcoat(stages []*workflowv1.PlannedStage) []*workflowv1.PlannedStage {
	out := cloned(stages)
	coat := stageOf(out, "topcoat-2 (top)")
	third := cloneOf(coat)
	third.Key, third.After = "topcoat-3", []string{"dust-off-9 (top)"}
	for _, s := range out {
		if i := slices.Index(s.After, "topcoat-2 (top)"); i >= 0 {
			s.After[i] = "topcoat-3 (top)"
		}
	}
	return append(out,
		&workflowv1.PlannedStage{Key: "scuff-sand-9", PartLabel: "top", Kind: "scuff_sand", Grit: "P320", AttendedMinutes: 10, After: []string{"topcoat-2 (top)"}},
		&workflowv1.PlannedStage{Key: "dust-off-9", PartLabel: "top", Kind: "dust_off", AttendedMinutes: 5, After: []string{"scuff-sand-9 (top)"}}, third)
}

// answers is somebody answering for breaking a rule.
func answers(person, rule, stage string) *workflowv1.Override {
	return &workflowv1.Override{Rule: "rules/" + rule, Stage: stage, Person: person, Reason: "the case was sealed last year"}
}

func cloneOf[M proto.Message](m M) M { return proto.Clone(m).(M) }
