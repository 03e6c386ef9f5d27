package server_test

import (
	"slices"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *floor) check(t testing.TB, piece string, stages []*workflowv1.PlannedStage) *workflowv1.CheckFinishPlanResponse {
	t.Helper()
	r, err := f.plans.CheckFinishPlan(t.Context(), &workflowv1.CheckFinishPlanRequest{Piece: piece, Stages: stages})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// need is what a plan needs of a product; nil: nothing.
func need(needs []*workflowv1.MaterialNeed, product string) *workflowv1.MaterialNeed {
	i := slices.IndexFunc(needs, func(n *workflowv1.MaterialNeed) bool { return n.Product == product })
	if i < 0 {
		return nil
	}
	return needs[i]
}

// Odo answered for the missing stain block when the plan was approved. A check of it finds
// that he still does, and refuses what amending would refuse.
func TestServer_CheckFinishPlan_OfAnApprovedPlan(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	draft := f.drafted(t, d)
	f.free(t, d.Name)
	odo := f.person(t, "Odo")
	got, err := f.plans.ApproveFinishPlan(svctest.Ctx(t), approving(d.Name, without(draft.Stages, "block-stains (case)"), answers(odo, "bleed-through", "")))
	if err != nil {
		t.Fatal(err)
	}
	f.know(got.Stages)
	if r := f.check(t, d.Name, nil); !r.CanBeApproved {
		t.Errorf("an approved plan that nobody changed could not be approved: %v", r.Findings)
	}
	if _, err := f.plans.AmendFinishPlan(svctest.Ctx(t), amending(d.Name, got.Plan.Stages)); err != nil {
		t.Errorf("AmendFinishPlan = %v", err)
	}
	stages := byTitle(got.Stages)
	f.works(t, odo, stages["hardware-off"].Name, 0, 15)
	missing := &workflowv1.CheckFinishPlanRequest{Piece: d.Name, Stages: without(got.Plan.Stages, "hardware-off")}
	svctest.Refused(t, f.Service, f.plans.CheckFinishPlan, missing, fault.Precondition, "STAGE_BEGUN")
}

// A delivery came after the draft: the approved plan says what is on hand now. A product that
// materials does not know any more keeps nobody from approving, amending or checking.
func TestServer_ApproveFinishPlan_AsksWhatIsOnHand(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	draft := f.drafted(t, d)
	f.free(t, d.Name)
	if n := need(draft.Needs, d.cream); n.GetShort() == nil {
		t.Fatalf("cream paint in the draft = %v, want it short", n)
	}
	f.stock.products[d.cream].OnHand.Value = "5"
	delete(f.stock.products, d.stain)
	got, err := f.plans.ApproveFinishPlan(svctest.Ctx(t), approving(d.Name, nil))
	if err != nil {
		t.Fatal(err)
	}
	if n := need(got.Plan.Needs, d.cream); n.GetOnHand().GetValue() != "5" || n.GetShort() != nil {
		t.Errorf("approved, the plan needs %v, want 5 L on hand", n)
	}
	f.stock.products[d.cream].OnHand.Value = "4"
	if n := need(f.check(t, d.Name, nil).Needs, d.cream); n.GetOnHand().GetValue() != "4" {
		t.Errorf("checked, the plan needs %v, want 4 L on hand", n)
	}
	amended, err := f.plans.AmendFinishPlan(svctest.Ctx(t), amending(d.Name, got.Plan.Stages))
	if err != nil {
		t.Fatal(err)
	}
	if n := need(amended.Plan.Needs, d.cream); n.GetOnHand().GetValue() != "4" {
		t.Errorf("amended, the plan needs %v, want 4 L on hand", n)
	}
}

// One of two coats of paint was begun: what is needed is for the other.
func TestServer_AmendFinishPlan_NeedsOfWhatIsToBeDone(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	plan, stages := f.approved(t, d)
	before := need(plan.Needs, d.cream)
	if r := f.check(t, d.Name, nil); need(r.Needs, d.cream).GetNeeded().GetValue() != before.GetNeeded().GetValue() {
		t.Errorf("before any paint is on it needs %v, want %v", need(r.Needs, d.cream), before)
	}
	f.writtenDown(t, f.person(t, "Kim", "finish"), stages["paint (case)"].Name, 200, 210)
	if r := f.check(t, d.Name, nil); need(r.Needs, d.cream).GetNeeded().GetValue() != "0.277" {
		t.Errorf("with one of two coats begun it needs %v, want 0.277 L", need(r.Needs, d.cream))
	}
}

// writtenDown is a stretch of work that somebody forgot to clock.
func (f *floor) writtenDown(t testing.TB, person, stage string, from, to int) {
	t.Helper()
	_, err := f.clocks.RecordClockEntry(svctest.Ctx(t), &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: person, Stage: stage,
		StartTime: at(from), EndTime: at(to), Reason: "forgot to clock on"})
	if err != nil {
		t.Fatal(err)
	}
}

// The maker corrected the varnish's sheet: it takes its next coat after a day. The floor hears
// of it with the next version, and a check shows what a coating of another kind would break.
func TestServer_AmendFinishPlan_ACorrectedSheet(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	plan, _ := f.approved(t, d)
	f.stock.products[d.varnish].CoatingSheet.RecoatMinutes = 1440
	got, err := f.plans.AmendFinishPlan(svctest.Ctx(t), amending(d.Name, plan.Stages))
	if err != nil {
		t.Fatal(err)
	}
	if s := byTitle(got.Stages)["topcoat (top)"]; s.UnattendedMinutes != 1440 {
		t.Errorf("topcoat = %v, want it to dry a day", s)
	}
	f.stock.products[d.stain].CoatingSheet.Family = typev1.FilmFamily_FILM_FAMILY_WAX
	if r := f.check(t, d.Name, nil); r.CanBeApproved {
		t.Errorf("varnish over what is a wax breaks nothing: %v", r.Findings)
	}
}
