package server_test

import (
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// describe says what whoever uses a product should have read.
func (f *materialsFake) describe(product string, cautions ...string) {
	f.products[product].Details = &typev1.ProductDetails{Cautions: cautions}
}

// warned checks that whoever starts a stage is asked for cautions, and may start once they have
// read them.
func (f *floor) warned(t *testing.T, person, stage string, minute int, ids, words string) {
	t.Helper()
	r := f.clockOn(person, stage, minute)
	r.AcknowledgedCautions = nil
	got := svctest.Refused(t, f.Service, f.clocks.ClockOn, r, fault.Precondition, "CAUTIONS_NOT_ACKNOWLEDGED")
	if got.Meta["cautions"] != ids {
		t.Errorf("to be read are %q, want %q", got.Meta["cautions"], ids)
	}
	says(t, got, words)
	f.on(t, person, stage, minute)
}

// A step of a route is done with what its product warns of: the words of its details that there
// are, and those of its film.
func TestServer_PlanStages_CautionsOfTheProduct(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), saveRoute(step("oil", ""))); err != nil {
		t.Fatal(err)
	}
	oil := f.stock.add("Danish oil", "1", varnishSheet())
	f.stock.describe(oil, "two-part", "of-another-day")
	planned, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: f.intake.add("top").Name, Route: "routes/painted",
		Products: []*stepProduct{{Step: "oil", Product: oil}}, PlanTime: at(0)})
	if err != nil {
		t.Fatal(err)
	}
	f.know(planned.Stages)
	f.warned(t, nell, planned.Stages[0].Name, 10, "two-part,vapour,fire,oily-rags", "Rags with this product heat up by themselves")
}

// The stage of a finish plan that is done with spirits warns of what was said of them until it was
// approved; what is said later counts once the plan is amended.
func TestServer_FinishPlan_CautionsOfTheProduct(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	nell := f.person(t, "Nell", "strip", "sand", "finish")
	spirits := f.stock.add("spirits", "5", nil)
	draft := f.drafted(t, d)
	f.free(t, d.Name)
	f.stock.describe(spirits, "fire")
	for _, name := range []string{"clean (top)", "clean (case)"} {
		stageOf(draft.Stages, name).Product = spirits
	}
	approved, err := f.plans.ApproveFinishPlan(svctest.Ctx(t), approving(d.Name, draft.Stages))
	if err != nil {
		t.Fatal(err)
	}
	f.know(approved.Stages)
	stages := byTitle(approved.Stages)
	f.works(t, nell, stages["hardware-off"].Name, 0, 15)
	f.finishAt(t, stages["hardware-off"].Name, 15)
	f.stock.describe(spirits, "fire", "oily-rags")
	f.warned(t, nell, stages["clean (top)"].Name, 20, "fire", "Wet, the product gives off vapour that burns.")
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 30)); err != nil {
		t.Fatal(err)
	}
	amended, err := f.plans.AmendFinishPlan(svctest.Ctx(t), amending(d.Name, f.finishPlan(t, d.Name).Stages))
	if err != nil {
		t.Fatal(err)
	}
	f.cautions = map[string][]string{}
	f.know(amended.Stages)
	stages = byTitle(amended.Stages)
	if got := f.cautions[stages["clean (top)"].Name]; len(got) != 1 {
		t.Errorf("what was begun warns of %v, want what it warned of", got)
	}
	f.warned(t, nell, stages["clean (case)"].Name, 40, "fire,oily-rags", "Rags with this product heat up by themselves")
}
