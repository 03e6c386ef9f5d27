package server_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// recoatedChest is a chest whose top got two coats of varnish, the second an hour after the first, which wants twelve;
// and both in air too humid for it. It is sold, and so is another that was only sanded.
func recoatedChest(t *testing.T) (c *soldChest, top []string) {
	t.Helper()
	c = setupSold(t)
	c.saveZone(t, "shed")
	second := step("coat-2", "", "coat-1")
	first := step("coat-1", "", "sand")
	first.Kind, second.Kind = "topcoat_coat", "topcoat_coat"
	first.UnattendedMinutes, second.UnattendedMinutes = 720, 720
	if _, err := c.routes.SaveRoute(svctest.Ctx(t), &workflowv1.SaveRouteRequest{RequestId: svctest.NewID(), Route: &workflowv1.Route{Name: "routes/twice", Steps: []*workflowv1.Step{step("sand", ""), first, second}}}); err != nil {
		t.Fatal(err)
	}
	p := c.intake.add("top")
	c.free(t, p.Name)
	r, err := c.floor.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/twice", PlanTime: at(0),
		Products: []*stepProduct{{Step: "coat-1", Product: c.varnish}, {Step: "coat-2", Product: c.varnish}}})
	if err != nil {
		t.Fatal(err)
	}
	c.know(r.Stages)
	c.reads(t, &workflowv1.Reading{Zone: "climateZones/shed", ReadTime: at(100), Celsius: 20, HumidityPercent: 95})
	for i, s := range r.Stages {
		e := c.finishingIn(t, s.Name, 100+60*i)
		top = append(top, e)
	}
	c.stock.issues = []*materialsv1.Issue{{Stage: top[1], Draws: []*materialsv1.Issue_Draw{{Lot: c.varnish + "/lots/" + id.New().String()}}}, {Stage: top[2], TakenBack: true, Draws: []*materialsv1.Issue_Draw{{Lot: "products/x/lots/y"}}}}
	c.sell(t)
	c.piece, c.top = p.Name, p.Parts[0].Name
	c.sell(t)
	return c, top
}

// finishingIn has a quarter of an hour of Nell's written down at a stage and finishes it, for it to dry in the shed.
func (c *soldChest) finishingIn(t *testing.T, stage string, minute int) string {
	t.Helper()
	c.writesDown(t, c.nell, stage, minute, minute+15)
	r := finishing(stage, minute+15)
	r.Zone, r.OverrideReason = "climateZones/shed", "the fair is tomorrow"
	if _, err := c.floor.stages.FinishStage(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	return stage
}

// The record says in which air coats were laid and how soon after each other, with which lots and by whom: facts.
func TestServer_GetComebackEvidence(t *testing.T) {
	t.Parallel()
	c, top := recoatedChest(t)
	back := c.opened(t, weeks(4))
	got, err := c.GetComebackEvidence(t.Context(), &workflowv1.GetComebackEvidenceRequest{Comeback: back.Name})
	if err != nil || len(got.Facts) != 3 {
		t.Fatalf("GetComebackEvidence = %v, %v", got, err)
	}
	first, second := got.Facts[1], got.Facts[2]
	if first.Stage != top[1] || first.PersonNames[0] != "Nell" || len(first.Lots) != 1 || first.GetHumidityPercent() != 95 || first.CoatBelow != "" {
		t.Errorf("the first coat: %v", first)
	}
	const outside = workflowv1.GetComebackEvidenceResponse_Fact_VERDICT_OUTSIDE
	if first.Air != outside || !strings.Contains(first.AirNote, "humid") {
		t.Errorf("its air: %v %q", first.Air, first.AirNote)
	}
	if second.Recoat != outside || second.Waited.AsDuration() != 45*time.Minute || second.Wanted.AsDuration() != 12*time.Hour || len(second.Lots) != 0 || second.CoatBelow != "coat-1 (top)" {
		t.Errorf("the second coat: %v", second)
	}
	svctest.Refused(t, c.Service, c.GetComebackEvidence, &workflowv1.GetComebackEvidenceRequest{Comeback: id.Name("comebacks", id.New())}, fault.NotFound, "COMEBACK_NOT_FOUND")
}

// Of two pieces that were sold one came back: by all that the two had.
func TestServer_ListFaultSources(t *testing.T) {
	t.Parallel()
	c, _ := recoatedChest(t)
	back := c.opened(t, weeks(4))
	if _, err := c.JudgeComeback(svctest.Ctx(t), &workflowv1.JudgeComebackRequest{RequestId: svctest.NewID(), Comeback: back.Name,
		Judgement: &workflowv1.Judgement{Source: workflowv1.Judgement_SOURCE_PIECE, Certainty: workflowv1.Judgement_CERTAINTY_POSSIBLE}}); err != nil {
		t.Fatal(err)
	}
	mends := c.mending(t, planning(back.Name, &workflowv1.Mending{PartLabel: "top", Kind: "clean_and_degrease"}))
	c.writesDown(t, c.nell, mends.Stages[0].Name, weeks(4)-30, weeks(4))
	for by, want := range map[workflowv1.ListFaultSourcesRequest_By][]string{
		workflowv1.ListFaultSourcesRequest_BY_PRODUCT:       {"wiping varnish 1/2"},
		workflowv1.ListFaultSourcesRequest_BY_STAGE_KIND:    {"sand 1/2", "topcoat_coat 1/2"},
		workflowv1.ListFaultSourcesRequest_BY_WORKER:        {"Nell 1/2"},
		workflowv1.ListFaultSourcesRequest_BY_CLIMATE:       {"outside 1/1", " 0/1"},
		workflowv1.ListFaultSourcesRequest_BY_FAULT:         {"water_ring 1/2"},
		workflowv1.ListFaultSourcesRequest_BY_JUDGED_SOURCE: {"piece 1/2"},
	} {
		got, err := c.ListFaultSources(t.Context(), &workflowv1.ListFaultSourcesRequest{By: by})
		if err != nil || got.Sold != 2 || got.Comebacks != 1 {
			t.Fatalf("%s: %v, %v", by, got, err)
		}
		var lines []string
		for _, l := range got.Lines {
			lines = append(lines, fmt.Sprintf("%s %d/%d", l.Title, l.PiecesBack, l.Exposed))
			if !l.Few || l.PiecesBack > 0 && (l.ReworkTime.AsDuration() != 30*time.Minute || l.ComebackNames[0] != back.Name) {
				t.Errorf("%s: %v", by, l)
			}
		}
		if diff := cmp.Diff(want, lines); diff != "" {
			t.Errorf("%s (-want +got):\n%s", by, diff)
		}
	}
	lot, err := c.ListFaultSources(t.Context(), &workflowv1.ListFaultSourcesRequest{By: workflowv1.ListFaultSourcesRequest_BY_LOT})
	if err != nil || len(lot.Lines) != 1 || lot.Lines[0].Rate != 1 || lot.Lines[0].RateLow > 0.21 || !strings.HasPrefix(lot.Lines[0].Title, "wiping varnish ") {
		t.Errorf("by lot: %v, %v", lot, err)
	}
	none, err := c.ListFaultSources(t.Context(), &workflowv1.ListFaultSourcesRequest{By: workflowv1.ListFaultSourcesRequest_BY_WORKER, FromTime: at(1)})
	if err != nil || len(none.Lines) != 0 || none.Sold != 0 {
		t.Errorf("later: %v, %v", none, err)
	}
	svctest.Refused(t, c.Service, c.ListFaultSources, &workflowv1.ListFaultSourcesRequest{By: workflowv1.ListFaultSourcesRequest_BY_WORKER, FromTime: at(2), ToTime: at(1)}, fault.Invalid, "FROM_AFTER_TO")
}
