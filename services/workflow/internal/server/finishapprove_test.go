package server_test

import (
	"fmt"
	"path"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestServer_ApproveFinishPlan(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	draft := f.drafted(t, d)
	r := approving(d.Name, nil)
	r.Etag = `"9"`
	svctest.Refused(t, f.Service, f.plans.ApproveFinishPlan, r, fault.Conflict, "ETAG_MISMATCH")
	r.Etag = draft.Etag
	got, err := f.plans.ApproveFinishPlan(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	if p := got.Plan; p.State != workflowv1.FinishPlan_STATE_APPROVED || p.Version != 1 || p.ApproveTime == nil || len(got.Stages) != len(draft.Stages) {
		t.Errorf("approved = %s, %d, with %d stages", p.State, p.Version, len(got.Stages))
	}
	stages := byTitle(got.Stages)
	coat := stages["topcoat (top)"]
	if coat.Product != d.varnish || coat.Part != d.Parts[0].Name || coat.Needs != workflowv1.DryState_DRY_STATE_RECOAT || coat.AttendedMinutes != 13 || len(coat.Cautions) == 0 ||
		!slices.Equal(coat.After, []string{stages["stain (top)"].Name}) {
		t.Errorf("topcoat = %v", coat)
	}
	if s := stages["sand (top)"]; s.Grit != "P100" || s.Station != "bench" || s.Skill != "sand" || s.Why == "" {
		t.Errorf("sanding = %v", s)
	}
	list, err := f.stages.ListStages(t.Context(), &workflowv1.ListStagesRequest{Piece: d.Name})
	if err != nil || !cmp.Equal(got.Stages, list.Stages, protocmp.Transform()) {
		t.Errorf("ListStages differs, %v:\n%s", err, cmp.Diff(got.Stages, list.Stages, protocmp.Transform()))
	}
	e := f.Last(t)
	if a := e.GetFinishPlanApproved(); a.GetPlanVersion() != 1 || len(a.GetStages()) != len(got.Stages) || len(a.GetOverrides()) != 0 || a.GetLook() != "paint, stain" || a.GetStages()[0].GetKind() != "hardware_off" || e.Version != 1 {
		t.Errorf("event = %v", e)
	}
	told := e.GetFinishPlanApproved().GetStages()
	i := slices.IndexFunc(told, func(s *eventsv1.StagesPlanned_Stage) bool { return s.Key == "topcoat" })
	want := &eventsv1.StagesPlanned_Stage{StageId: path.Base(coat.Name), PartId: path.Base(coat.Part), Kind: "topcoat_coat", AfterStageIds: []string{path.Base(stages["stain (top)"].Name)},
		Key: "topcoat", PartLabel: "top", ProductId: path.Base(d.varnish), Amount: &typev1.Quantity{Value: "0.064", Unit: "L"}, Method: "brush", AttendedMinutes: 13, UnattendedMinutes: coat.UnattendedMinutes}
	if diff := cmp.Diff(want, told[i], protocmp.Transform()); diff != "" {
		t.Errorf("the event tells of the topcoat:\n%s", diff)
	}
	again, err := f.plans.ApproveFinishPlan(svctest.Ctx(t), r)
	if err != nil || !cmp.Equal(got, again, protocmp.Transform()) {
		t.Errorf("asked again = %v, %v", again, err)
	}
	svctest.Refused(t, f.Service, f.plans.ApproveFinishPlan, approving(d.Name, nil), fault.Precondition, "PIECE_ALREADY_PLANNED")
	route := &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: d.Name, Route: "routes/painted"}
	svctest.Refused(t, f.Service, f.stages.PlanStages, route, fault.Precondition, "PIECE_ALREADY_PLANNED")
}

// Light paint over oak that nothing holds back is refused with the rule named, and goes
// when a person answers for it, which the plan and the event keep.
func TestServer_ApproveFinishPlan_SomebodyAnswers(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	draft := f.drafted(t, d)
	odo := f.person(t, "Odo")
	bare := without(draft.Stages, "block-stains (case)")
	g := svctest.Refused(t, f.Service, f.plans.ApproveFinishPlan, approving(d.Name, bare), fault.Precondition, "RULE_BROKEN")
	says(t, g, "bleed-through", "paint (case)", "Seal with shellac")
	refused := func(o *workflowv1.Override, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, f.Service, f.plans.ApproveFinishPlan, approving(d.Name, bare, o), kind, reason)
	}
	refused(answers(odo, "bleed-through", "stain (top)"), fault.NotFound, "OVERRIDE_UNKNOWN")
	refused(answers(odo, "sand-by-moonlight", ""), fault.NotFound, "OVERRIDE_UNKNOWN")
	refused(answers(id.Name("people", id.New()), "bleed-through", ""), fault.NotFound, "PERSON_NOT_FOUND")
	refused(answers("", "bleed-through", ""), fault.Invalid, "INVALID_NAME")
	refused(&workflowv1.Override{Rule: "rules/bleed-through", Person: odo}, fault.Invalid, "INVALID_FIELD")

	got, err := f.plans.ApproveFinishPlan(svctest.Ctx(t), approving(d.Name, bare, answers(odo, "bleed-through", "")))
	if err != nil {
		t.Fatal(err)
	}
	answered := 0
	for _, finding := range got.Plan.Findings {
		if o := finding.Override; o != nil {
			answered++
			if o.Person != odo || o.PersonName != "Odo" || finding.Rule.Name != "rules/bleed-through" {
				t.Errorf("finding = %v", finding)
			}
		}
	}
	if answered == 0 || byTitle(got.Stages)["block-stains (case)"] != nil {
		t.Errorf("%d findings are answered for; stages %v", answered, got.Stages)
	}
	over := f.Last(t).GetFinishPlanApproved().GetOverrides()
	if len(over) != 1 || over[0].Rule != "bleed-through" || over[0].PersonName != "Odo" || "people/"+over[0].PersonId != odo || over[0].Reason == "" {
		t.Errorf("the event says %v", over)
	}
}

// A check finds what approving would refuse, and changes nothing.
func TestServer_CheckFinishPlan(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	check := func(stages []*workflowv1.PlannedStage, overrides ...*workflowv1.Override) *workflowv1.CheckFinishPlanResponse {
		t.Helper()
		r, err := f.plans.CheckFinishPlan(t.Context(), &workflowv1.CheckFinishPlanRequest{Piece: d.Name, Stages: stages, Overrides: overrides})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	svctest.Refused(t, f.Service, f.plans.CheckFinishPlan, &workflowv1.CheckFinishPlanRequest{Piece: d.Name}, fault.NotFound, "PLAN_NOT_FOUND")
	draft := f.drafted(t, d)
	if r := check(nil); !r.CanBeApproved || !cmp.Equal(draft.Findings, r.Findings, protocmp.Transform()) || !cmp.Equal(draft.Needs, r.Needs, protocmp.Transform()) {
		t.Errorf("check of the draft as it is = %v\n%s", r, cmp.Diff(draft.Needs, r.Needs, protocmp.Transform()))
	}
	if r := check(cloned(draft.Stages)); !r.CanBeApproved || !cmp.Equal(draft.Needs, r.Needs, protocmp.Transform()) {
		t.Errorf("check of the draft's own stages = %v", r)
	}
	odo, bare := f.person(t, "Odo"), without(draft.Stages, "block-stains (case)")
	if r := check(bare); r.CanBeApproved || len(r.Findings) == 0 {
		t.Errorf("check without a stain block = %v", r)
	}
	if r := check(bare, answers(odo, "bleed-through", "")); !r.CanBeApproved {
		t.Errorf("check with somebody who answers = %v", r)
	}
	if r := check(bare, answers(id.Name("people", id.New()), "bleed-through", ""), answers(odo, "thin-veneer", "")); r.CanBeApproved {
		t.Error("somebody unknown answers, and somebody for another rule: it could be approved")
	}
	f.stock.products[d.cream].OnHand.Value = "5"
	for _, n := range check(nil).Needs {
		if n.Product == d.cream && (n.Short != nil || n.OnHand.Value != "5") {
			t.Errorf("after a delivery it still needs %v", n)
		}
	}
	if diff := cmp.Diff(draft, f.finishPlan(t, d.Name), protocmp.Transform()); diff != "" {
		t.Errorf("checking changed the draft:\n%s", diff)
	}
}

// What is wrong with edited stages is said at the stage, by all that take them.
func TestServer_FinishPlan_RefusesStages(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	draft := f.drafted(t, d)
	rags := f.stock.add("rags", "1", nil)
	for name, c := range map[string]struct {
		change func(at func(string) *workflowv1.PlannedStage)
		kind   fault.Kind
		reason string
		stage  string
		field  string
	}{
		"Twice":   {func(at func(string) *workflowv1.PlannedStage) { at("topcoat-2 (top)").Key = "topcoat" }, fault.Invalid, "STAGE_TWICE", "topcoat-2 (top)", "key"},
		"Unknown": {func(at func(string) *workflowv1.PlannedStage) { at("stain (top)").After = []string{"polish"} }, fault.Invalid, "STAGE_UNKNOWN", "stain (top)", "after[0]"},
		"Round":   {func(at func(string) *workflowv1.PlannedStage) { at("stain (top)").After = []string{"stain (top)"} }, fault.Invalid, "STAGES_GO_ROUND", "stain (top)", "after"},
		"Part":    {func(at func(string) *workflowv1.PlannedStage) { at("stain (top)").PartLabel = "lid" }, fault.Invalid, "PART_UNKNOWN", "stain (top)", "part_label"},
		"Grit":    {func(at func(string) *workflowv1.PlannedStage) { at("sand (top)").Grit = "P121" }, fault.Invalid, "GRIT_UNKNOWN", "sand (top)", "grit"},
		"Product": {func(at func(string) *workflowv1.PlannedStage) {
			at("stain (top)").Product = id.Name("products", id.New())
		}, fault.NotFound, "PRODUCT_NOT_FOUND", "stain (top)", "product"},
		"Sheet": {func(at func(string) *workflowv1.PlannedStage) { at("stain (top)").Product = rags }, fault.Precondition, "COATING_SHEET_MISSING", "stain (top)", "product"},
	} {
		stages := cloned(draft.Stages)
		i := slices.IndexFunc(stages, func(s *workflowv1.PlannedStage) bool { return title(s.Key, s.PartLabel) == c.stage })
		path := fmt.Sprintf("stages[%d].%s", i, c.field)
		c.change(func(name string) *workflowv1.PlannedStage { return stageOf(stages, name) })
		for _, g := range []*fault.Fault{
			svctest.Refused(t, f.Service, f.plans.CheckFinishPlan, &workflowv1.CheckFinishPlanRequest{Piece: d.Name, Stages: stages}, c.kind, c.reason),
			svctest.Refused(t, f.Service, f.plans.ApproveFinishPlan, approving(d.Name, stages), c.kind, c.reason),
		} {
			if len(g.Fields) != 1 || g.Fields[0].Path != path {
				t.Errorf("%s: refused at %v, want %s", name, g.Fields, path)
			}
		}
	}
}

// Somebody puts in another product than was chosen: its sheet is fetched and kept.
func TestServer_ApproveFinishPlan_AnotherProduct(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	stages := cloned(f.drafted(t, d).Stages)
	matt := f.stock.add("matt varnish", "1", varnishSheet())
	stageOf(stages, "topcoat-2 (top)").Product = matt
	asked := f.stock.asked.Load()
	got, err := f.plans.ApproveFinishPlan(svctest.Ctx(t), approving(d.Name, stages))
	if err != nil {
		t.Fatal(err)
	}
	if n := f.stock.asked.Load() - asked; n != 4 {
		t.Errorf("materials was asked %d times for four products", n)
	}
	if s := byTitle(got.Stages)["topcoat-2 (top)"]; s.Product != matt || s.ProductName != "matt varnish" {
		t.Errorf("topcoat = %v", s)
	}
	if !slices.ContainsFunc(got.Plan.Needs, func(n *workflowv1.MaterialNeed) bool { return n.Product == matt && n.Needed.GetValue() == "0.064" }) {
		t.Errorf("needs = %v", got.Plan.Needs)
	}
}

func TestServer_ApproveFinishPlan_NoDraft(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	svctest.Refused(t, f.Service, f.plans.ApproveFinishPlan, approving(d.Name, nil), fault.NotFound, "PLAN_NOT_FOUND")
	piece, _ := f.planned(t)
	svctest.Refused(t, f.Service, f.plans.ApproveFinishPlan, approving(piece, nil), fault.Precondition, "PIECE_ALREADY_PLANNED")
	f.drafted(t, d)
	svctest.Refused(t, f.Service, f.plans.AmendFinishPlan, amending(d.Name, f.finishPlan(t, d.Name).Stages), fault.Precondition, "PLAN_NOT_APPROVED")
	svctest.Refused(t, f.Service, f.plans.AmendFinishPlan, amending(piece, f.finishPlan(t, d.Name).Stages), fault.NotFound, "PLAN_NOT_FOUND")
	svctest.Refused(t, f.Service, f.plans.AmendFinishPlan, amending(id.Name("pieces", id.New()), f.finishPlan(t, d.Name).Stages), fault.NotFound, "PLAN_NOT_FOUND")
}

// Two people approve at once: one wins, and the piece has its stages once.
func TestServer_ApproveFinishPlan_TwoAtOnce(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	draft := f.drafted(t, d)
	results := make(chan error, 2)
	for range 2 {
		go func() {
			_, err := f.plans.ApproveFinishPlan(svctest.Ctx(t), approving(d.Name, nil))
			results <- err
		}()
	}
	one, other := <-results, <-results
	if one != nil {
		one, other = other, one
	}
	list, err := f.stages.ListStages(t.Context(), &workflowv1.ListStagesRequest{Piece: d.Name})
	if one != nil || !fault.Is(other, "PIECE_ALREADY_PLANNED") || err != nil || len(list.Stages) != len(draft.Stages) {
		t.Errorf("approving at once = %v and %v; %d stages, %v", one, other, len(list.GetStages()), err)
	}
}
