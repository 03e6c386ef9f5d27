package piece_test

import (
	"net/http"
	"net/url"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// looked is a top that somebody looked at, with a defect that a photo shows, and a case that nobody looked at.
func looked(b *bundle) {
	mm := func(v string) *typev1.Quantity { return &typev1.Quantity{Value: v, Unit: "mm"} }
	b.answers["GetAssessment"] = &intakev1.GetAssessmentResponse{Piece: thePiece, NotAssessed: 1, Parts: []*intakev1.PartAssessment{
		{Part: thePiece + "/parts/top", PartLabel: "top", Count: 1, Actor: "Odile", AssessTime: timestamppb.New(now), Etag: `"2"`, Seen: &intakev1.PartSeen{Material: "veneer", Species: "walnut", Veneer: mm("0.7"),
			OldFinish: "shellac", Waxed: true, PaintedIn: 1930, PaintedInDecade: true, Condition: typev1.PieceCondition_PIECE_CONDITION_WORN, Note: "<b>sun",
			Defects: []*intakev1.PartDefect{{Kind: "veneer chip", Severity: intakev1.PartDefect_SEVERITY_TO_MEND, Where: "front edge", Photos: []string{"photos/p2", "photos/gone"}}}},
			VeneerFloor: &intakev1.VeneerFloor{Thickness: mm("0.7"), Floor: mm("0.2"), Sandable: mm("0.5"), Rule: "rules/veneer-left", Source: "common practice"}},
		{Part: thePiece + "/parts/case", PartLabel: "case", Count: 1, Etag: `"0"`}}}
	b.answers["ListPhotos"] = &intakev1.ListPhotosResponse{Photos: []*intakev1.Photo{{Name: "photos/p2", Number: 2, Moment: intakev1.Photo_MOMENT_DEFECT, Note: "the chip"}}}
	b.answers["ListPartTests"] = &workflowv1.ListPartTestsResponse{
		Tests: []*workflowv1.PartTest{{Part: thePiece + "/parts/top", PartLabel: "top", TestTime: timestamppb.New(now), Result: &workflowv1.PartTest_Moisture{Moisture: &workflowv1.Moisture{Percent: 14}}}},
		SpotReadings: []*workflowv1.SpotReading{{Part: thePiece + "/parts/top", OldFinishes: []string{"nitrocellulose lacquer", "shellac"}, Waxed: true, NextSolvent: "lacquer thinner"},
			{Part: thePiece + "/parts/case"}}}
}

func TestPage_Assessment(t *testing.T) {
	b := setup(t)
	looked(b)
	body := b.get("lead", "/pieces/401")
	b.says(body, http.StatusOK, "Nobody looked at 1 part yet.", "veneer, walnut · shellac, wax lies on it · put on in the 1930s · worn on its surface", "The veneer is 0.7 mm thick. At most 0.5 mm of it may be sanded off, for 0.2 mm must stay",
		"What was sanded off since is not counted.", "<strong>veneer is chipped</strong> to mend, front edge", `href="/photos/p2/medium"`, "&lt;b&gt;sun", "By the spot tests it is probably nitrocellulose lacquer or shellac. Wax lies on it. Try lacquer thinner next.",
		"Wood at 14.0 % moisture", "The spot tests contradict each other", "presume lead", `name="veneer" inputmode="decimal" autocomplete="off" maxlength="20" value="0.7"`, `value="1930s"`, `<option value="photos/p2" selected>2, the chip`)
	b.keeps(body, "photos/gone", "[assess")
	helper := b.get("helper", "/pieces/401")
	b.says(helper, http.StatusOK, "veneer, walnut")
	b.keeps(helper, "/pieces/401/assess")
	b.refuses["ListPartTests"] = fault.New(fault.Unavailable, "AWAY", "Away.")
	b.says(b.get("lead", "/pieces/401"), http.StatusOK, "What was tested:", "veneer, walnut")
	b.refuses["GetAssessment"] = fault.New(fault.Unavailable, "AWAY", "Away.")
	b.keeps(b.get("lead", "/pieces/401"), "veneer, walnut")
}

func TestPage_Assess(t *testing.T) {
	b := setup(t)
	looked(b)
	form := url.Values{"part": {thePiece + "/parts/top"}, "etag": {`"2"`}, "material": {"veneer"}, "species": {"oak"}, "veneer": {"0.65"}, "unit": {"mm"}, "old": {"unknown"}, "stained": {"yes"}, "painted": {"1955"}, "condition": {"damaged"},
		"kind": {"", "burn"}, "severity": {"to_mend", "spoils_part"}, "where": {"", "rim"}, "defect_note": {"", "deep"}, "photos1": {"photos/p2"}, "note": {"a gift"}}
	if w := b.post("lead", "/pieces/401/assess", form); w.Code != http.StatusSeeOther {
		t.Errorf("assess = %d: %s", w.Code, w.Body)
	}
	want := &intakev1.AssessPartRequest{Part: thePiece + "/parts/top", Etag: `"2"`, Seen: &intakev1.PartSeen{Material: "veneer", Species: "oak", Veneer: &typev1.Quantity{Value: "0.65", Unit: "mm"}, OldFinish: "unknown", OldStain: true,
		PaintedIn: 1955, Condition: typev1.PieceCondition_PIECE_CONDITION_DAMAGED, Note: "a gift",
		Defects: []*intakev1.PartDefect{{Kind: "burn", Severity: intakev1.PartDefect_SEVERITY_SPOILS_PART, Where: "rim", Note: "deep", Photos: []string{"photos/p2"}}}}}
	if diff := cmp.Diff(want, b.asked["AssessPart"], protocmp.Transform(), protocmp.IgnoreFields(want, "request_id")); diff != "" {
		t.Errorf("AssessPart (-want +got):\n%s", diff)
	}
	form.Set("painted", "lately")
	b.says(b.post("lead", "/pieces/401/assess", form), http.StatusBadRequest, "is no year such as 1955", `value="0.65"`, `value="lately"`, `value="deep"`, " open>")
	b.refuses["AssessPart"] = fault.New(fault.Invalid, "VENEER_OF_NO_VENEER", "Only veneer has a thickness of veneer.").At("seen.veneer")
	form.Set("painted", "1955")
	b.says(b.post("lead", "/pieces/401/assess", form), http.StatusBadRequest, "Only veneer has a thickness of veneer.", `<option value="burn" selected>`)
}
