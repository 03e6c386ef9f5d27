package server_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// A draft takes what it leaves out from what somebody saw, says so, and what it says itself wins.
func TestServer_DraftFinishPlan_AsAssessed(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	f.intake.seen[d.Parts[0].Name] = &intakev1.PartSeen{Material: "veneer", Species: "walnut", Veneer: &typev1.Quantity{Value: "0.08", Unit: "cm"}, OldFinish: "shellac",
		Waxed: true, PaintedIn: 1930, PaintedInDecade: true, Defects: []*intakev1.PartDefect{
			{Kind: "veneer chip", Severity: intakev1.PartDefect_SEVERITY_TO_MEND, Where: "left"}, {Kind: "veneer chip", Severity: intakev1.PartDefect_SEVERITY_SPOILS_PART, Where: "right"},
			{Kind: "scratches", Severity: intakev1.PartDefect_SEVERITY_SLIGHT}}}
	f.intake.seen[d.Parts[1].Name] = &intakev1.PartSeen{Material: "solid wood", Species: "pine", OldFinish: "latex paint", PaintedIn: 1960}
	r, err := f.plans.DraftFinishPlan(svctest.Ctx(t), d.change(func(r *workflowv1.DraftFinishPlanRequest) {
		r.Parts[0].Assessment = nil
		r.Parts[1].Assessment.PaintedIn = 0
	}))
	if err != nil {
		t.Fatal(err)
	}
	top := &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_VENEER, Species: "walnut", VeneerMm: 0.8, OldFinish: "shellac", Waxed: true, PaintedIn: 1930, Defects: []string{"veneer chip"}}
	box := &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_SOLID_WOOD, Species: "oak", OldFinish: "alkyd or oil varnish", PaintedIn: 1960}
	for i, want := range []*workflowv1.Assessment{top, box} {
		if diff := cmp.Diff(want, r.Plan.Parts[i].Assessment, protocmp.Transform()); diff != "" {
			t.Errorf("part %d (-want +got):\n%s", i, diff)
		}
	}
	taken := []*workflowv1.TakenFromAssessment{
		{Part: d.Parts[0].Name, PartLabel: "top", Fields: []string{"material", "species", "veneer_mm", "old_finish", "waxed", "painted_in", "defects"}, Actor: "ana", AssessTime: at(-30)},
		{Part: d.Parts[1].Name, PartLabel: "case", Fields: []string{"painted_in"}, Actor: "ana", AssessTime: at(-30)}}
	if diff := cmp.Diff(taken, r.FromAssessments, protocmp.Transform()); diff != "" {
		t.Errorf("taken (-want +got):\n%s", diff)
	}
}

// What a drafter says of another material than was seen, or that the part is bare, stays as it was said.
func TestServer_DraftFinishPlan_SaidWins(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	f.intake.seen[d.Parts[0].Name] = &intakev1.PartSeen{Material: "veneer", Species: "walnut", Veneer: &typev1.Quantity{Value: "0.8", Unit: "mm"}, OldFinish: "shellac", Waxed: true, OldStain: true, PaintedIn: 1930}
	for name, said := range map[string]*workflowv1.Assessment{
		"another material": {Material: workflowv1.Assessment_MATERIAL_SOLID_WOOD, OldFinish: "bare"},
		"all of it":        {Material: workflowv1.Assessment_MATERIAL_VENEER, Species: "oak", VeneerMm: 2, OldFinish: "wax", PaintedIn: 1990},
	} {
		r, err := f.plans.DraftFinishPlan(svctest.Ctx(t), d.change(func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[0].Assessment = said }))
		if err != nil {
			t.Fatal(err)
		}
		want := cloneOf(said)
		if want.OldFinish == "bare" {
			want.OldFinish = ""
		}
		if diff := cmp.Diff(want, r.Plan.Parts[0].Assessment, protocmp.Transform()); diff != "" || len(r.FromAssessments) != 0 {
			t.Errorf("%s: taken %v (-want +got):\n%s", name, r.FromAssessments, diff)
		}
	}
}

func TestServer_DraftFinishPlan_NotAssessed(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d := f.dresser()
	left := func(r *workflowv1.DraftFinishPlanRequest) { r.Parts[1].Assessment = nil }
	got := svctest.Refused(t, f.Service, f.plans.DraftFinishPlan, d.change(left), fault.Precondition, "PART_NOT_ASSESSED")
	if len(got.Fields) == 0 || got.Fields[0].Path != "parts[1].assessment.material" {
		t.Errorf("PART_NOT_ASSESSED at %v", got.Fields)
	}
	f.intake.away = true
	svctest.Refused(t, f.Service, f.plans.DraftFinishPlan, d.change(left), fault.Unavailable, "SERVICE_UNAVAILABLE")
}

// The spot tests of each part are read together wherever they are listed.
func TestServer_ListPartTests_ReadsSpots(t *testing.T) {
	t.Parallel()
	f := setup(t)
	p := f.intake.add("top", "case")
	for i, spot := range []struct {
		part              int
		solvent, reaction string
	}{{0, "denatured alcohol", "none"}, {0, "mineral spirits", "wax comes off"}, {1, "lacquer thinner", "softens"}, {0, "denatured alcohol", "softens"}} {
		_, err := f.tests.RecordSpotTest(svctest.Ctx(t), &workflowv1.RecordSpotTestRequest{RequestId: svctest.NewID(), Piece: p.Name, Part: p.Parts[spot.part].Name,
			Solvent: spot.solvent, Reaction: spot.reaction, TestTime: at(i)})
		if err != nil {
			t.Fatal(err)
		}
	}
	r, err := f.tests.ListPartTests(t.Context(), &workflowv1.ListPartTestsRequest{Piece: p.Name})
	if err != nil {
		t.Fatal(err)
	}
	want := []*workflowv1.SpotReading{
		{Part: p.Parts[0].Name, PartLabel: "top", OldFinishes: []string{"shellac"}, Waxed: true},
		{Part: p.Parts[1].Name, PartLabel: "case", OldFinishes: []string{"nitrocellulose lacquer", "shellac", "water-borne acrylic"}, NextSolvent: "denatured alcohol"}}
	if diff := cmp.Diff(want, r.SpotReadings, protocmp.Transform(), protocmp.IgnoreFields(&workflowv1.SpotReading{}, "why")); diff != "" || r.SpotReadings[0].Why == "" {
		t.Errorf("spot readings (-want +got):\n%s", diff)
	}
}
