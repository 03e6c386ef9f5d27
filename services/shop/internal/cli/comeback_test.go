package cli

import (
	"testing"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestComeback(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.gives(t, line("comeback open 1 --fault water-ring:case::vase --reported 'R. Okafor' --charged --at-owner --at '2026-03-02 12:00'"), &workflowv1.OpenComebackRequest{Piece: "pieces/a", ReportedBy: "R. Okafor",
		Charged: true, Place: workflowv1.Comeback_PLACE_OWNER, ReportTime: middayPlus(0), Faults: []*workflowv1.Defect{{Kind: "water_ring", Part: "pieces/a/parts/c", Note: "vase"}}})
	f.says(t, line("comeback open 1 --fault water-ring:case"), "water ring case", "warranty", "1:30", "open", "not judged")
	f.refuses(t, line("comeback open 1"), "--fault")
	f.refuses(t, line("comeback open 1 --fault water-ring:lid"), "lid")
	f.gives(t, line("comeback plan 1"), &workflowv1.PlanComebackRequest{Comeback: "comebacks/17"})
	f.gives(t, line("comeback plan 1 --stage scuff-sand:case::P320 --stage 'topcoat-coat:case:clear coat' --override clean-first=wiped --by nell"), &workflowv1.PlanComebackRequest{Comeback: "comebacks/17",
		Stages:    []*workflowv1.Mending{{Kind: "scuff_sand", PartLabel: "case", Grit: "P320"}, {Kind: "topcoat_coat", PartLabel: "case", Product: "products/k"}},
		Overrides: []*workflowv1.Override{{Rule: "rules/clean-first", Person: "people/n", Reason: "wiped"}}})
	f.says(t, line("comeback plan 1"), "sand (case): Dust spoils a film. (dust)")
	f.gives(t, line("comeback close 1 nothing-found --note dry"), &workflowv1.CloseComebackRequest{Comeback: "comebacks/17", Outcome: workflowv1.Comeback_OUTCOME_NOTHING_FOUND, Note: "dry"})
	f.refuses(t, line("comeback close 1 lost"), "none of: mended, refunded, nothing-found, declined")
	f.gives(t, line("comeback judge 1 hand --stage 'sand (case)' --person nell --certainty possible"), &workflowv1.JudgeComebackRequest{Comeback: "comebacks/17", Judgement: &workflowv1.Judgement{
		Source: workflowv1.Judgement_SOURCE_HAND, Certainty: workflowv1.Judgement_CERTAINTY_POSSIBLE, Stage: "pieces/a/stages/2", Person: "people/n"}})
	f.says(t, line("comeback judge 1 hand --stage 'sand (case)' --person nell"), "hand, sand (case), Nell (likely)")
	f.says(t, line("comeback evidence 1"), "18 °C, 91 %: the air is too humid", "1:00", "Nell")
	f.says(t, line("comeback mendings"), "strip, wash off")
	f.says(t, line("comeback sources"), "Clear coat 1 8 12 % 2 to 47 % 1:30 few")
	f.refuses(t, line("comeback sources --by moon"), "none of: product, lot, stage-kind, worker, climate, fault, judged-source")
}

func TestCost_ReworkOfWarranty(t *testing.T) {
	t.Parallel()
	f := withAnswers(t)
	f.says(t, line("cost rework --by source --of warranty"), "by source")
	if r, ok := f.asks[len(f.asks)-1].(*costingv1.ListReworkRequest); !ok || r.Of != costingv1.ListReworkRequest_OF_WARRANTY || r.By != costingv1.ListReworkRequest_BY_SOURCE {
		t.Errorf("asked %v", f.asks)
	}
}
