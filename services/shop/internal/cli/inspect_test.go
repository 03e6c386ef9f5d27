package cli

import (
	"testing"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// withFound has an inspection that failed.
func withFound(t *testing.T) *fake {
	t.Helper()
	f := withTwo(t)
	f.inspections = []*workflowv1.Inspection{{PieceTag: 1, StageTitle: "inspect-film", Point: "film", Pass: 1, InspectorName: "Ruth", InspectTime: middayPlus(0), BackToTitle: "topcoat (case)", Note: "by the window",
		Defects: []*workflowv1.Defect{{Kind: "runs", PartLabel: "case", Photo: "photos/a_b.jpg", Note: "at the left_side"}, {Kind: "fish_eye", Note: "one"}, {Kind: "sags", PartLabel: "case"}}}}
	return f
}

func TestInspect_Pass(t *testing.T) {
	t.Parallel()
	f := withFound(t)
	f.gives(t, line("inspect pass 1 hardware-off Ruth --point colour-match --note 'by the window' --at '2026-03-02 12:00'"), &workflowv1.RecordInspectionRequest{
		Stage: "pieces/a/stages/1", Inspector: "people/r", Point: "colour_match", Passed: true, Note: "by the window", InspectTime: middayPlus(0)})
	f.refuses(t, line("inspect pass 1 hardware-off Odile"), `nobody called "Odile"`)
	f.refuses(t, line("inspect pass 1 wax Ruth"), `no stage called "wax"`)
}

// A defect's words stand between colons; those of an address do not divide it.
func TestInspect_Fail(t *testing.T) {
	t.Parallel()
	f := withFound(t)
	f.gives(t, line("inspect fail 1 hardware-off Ruth --back-to 'sand (case)' --defect runs --defect fish-eye:Drawers --defect 'orange_peel::photos/7.jpg:at the left: low' --defect 'dust:case:https://shop.example/7.jpg'"),
		&workflowv1.RecordInspectionRequest{Stage: "pieces/a/stages/1", Inspector: "people/r", BackTo: "pieces/a/stages/2", Defects: []*workflowv1.Defect{
			{Kind: "runs"}, {Kind: "fish_eye", Part: "pieces/a/parts/d"}, {Kind: "orange_peel", Photo: "photos/7.jpg", Note: "at the left: low"},
			{Kind: "dust", Part: "pieces/a/parts/c", Photo: "https://shop.example/7.jpg"}}})
	f.says(t, line("inspect fail 1 hardware-off Ruth --back-to 'sand (case)' --defect runs"),
		"2026-03-02 12:00:00 CST 1 inspect-film film 1 Ruth not good: runs case (photo photos/a_b.jpg; at the left_side), fish eye (one), sags case topcoat (case) by the window\n", "hardware-off")
	f.refuses(t, line("inspect fail 1 hardware-off Ruth --defect runs"), "--back-to")
	f.refuses(t, line("inspect fail 1 hardware-off Ruth --defect runs:lid --back-to 'sand (case)'"), `no part "lid"`)
	f.refuses(t, line("inspect fail 1 hardware-off Ruth --defect runs --back-to wax"), `no stage called "wax"`)
}

func TestInspect_ListsAndReport(t *testing.T) {
	t.Parallel()
	f := withFound(t)
	f.asksFor(t, line("inspect list --piece 1 --failed"), &workflowv1.ListInspectionsRequest{Piece: "pieces/a", FailedOnly: true, PageSize: 1000})
	f.says(t, line("inspect list"), "not good: runs case (photo photos/a_b.jpg; at the left_side), fish eye (one), sags case topcoat")
	f.inspections[0].Passed, f.inspections[0].Defects = true, nil
	f.says(t, line("inspect list"), "Ruth good topcoat (case)")
	f.says(t, line("inspect kinds"), "fish_eye Small craters; usually silicone.")
	f.asksFor(t, line("inspect report --by stage-kind --from '2026-03-02 12:00' --to '2026-03-02 13:00'"), &workflowv1.ListDefectCountsRequest{
		By: workflowv1.ListDefectCountsRequest_BY_STAGE_KIND, FromTime: middayPlus(0), ToTime: middayPlus(60), PageSize: 1000})
	f.says(t, line("inspect report --by stage-kind"), "fish eye topcoat coat 3 2 14 1:30\n")
	f.asksFor(t, line("inspect report"), &workflowv1.ListDefectCountsRequest{By: workflowv1.ListDefectCountsRequest_BY_PRODUCT, PageSize: 1000})
	f.refuses(t, line("inspect report --by weather"), "--by must be one of")
}
