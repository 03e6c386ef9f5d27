package cli

import (
	"context"

	"google.golang.org/protobuf/types/known/durationpb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// comeback is the dresser with a ring on its case, as it became.
func comeback(outcome workflowv1.Comeback_Outcome) *workflowv1.Comeback {
	return &workflowv1.Comeback{Name: "comebacks/17", Piece: "pieces/a", PieceTag: 1, ReportTime: middayPlus(0), Warranty: true, Place: workflowv1.Comeback_PLACE_SHOP, Outcome: outcome,
		Faults: []*workflowv1.Defect{{Kind: "water_ring", PartLabel: "case"}}, ReworkTime: durationpb.New(5400e9)}
}

func (f *fake) OpenComeback(_ context.Context, r *workflowv1.OpenComebackRequest) (*workflowv1.OpenComebackResponse, error) {
	return note(f, r, &workflowv1.OpenComebackResponse{Comeback: comeback(0)})
}

func (f *fake) PlanComeback(_ context.Context, r *workflowv1.PlanComebackRequest) (*workflowv1.PlanComebackResponse, error) {
	return note(f, r, &workflowv1.PlanComebackResponse{Stages: f.stages[1:2], Findings: []*workflowv1.Finding{{Stage: "sand (case)", Rule: &workflowv1.Rule{Name: "rules/dust", Says: "Dust spoils a film."}}}})
}

func (f *fake) CloseComeback(_ context.Context, r *workflowv1.CloseComebackRequest) (*workflowv1.CloseComebackResponse, error) {
	return note(f, r, &workflowv1.CloseComebackResponse{Comeback: comeback(r.Outcome)})
}

func (f *fake) JudgeComeback(_ context.Context, r *workflowv1.JudgeComebackRequest) (*workflowv1.JudgeComebackResponse, error) {
	c := comeback(0)
	c.Judgement = &workflowv1.Judgement{Source: r.Judgement.Source, Certainty: r.Judgement.Certainty, StageTitle: "sand (case)", PersonName: "Nell"}
	return note(f, r, &workflowv1.JudgeComebackResponse{Comeback: c})
}

func (f *fake) ListComebacks(_ context.Context, r *workflowv1.ListComebacksRequest) (*workflowv1.ListComebacksResponse, error) {
	return asked(f, r, &workflowv1.ListComebacksResponse{Comebacks: []*workflowv1.Comeback{comeback(0)}})
}

func (f *fake) GetComebackEvidence(_ context.Context, r *workflowv1.GetComebackEvidenceRequest) (*workflowv1.GetComebackEvidenceResponse, error) {
	cold, damp := 18.0, 91.0
	return asked(f, r, &workflowv1.GetComebackEvidenceResponse{Facts: []*workflowv1.GetComebackEvidenceResponse_Fact{{StageTitle: "topcoat (case)", FinishTime: middayPlus(0), Passes: 1,
		PersonNames: []string{"Nell"}, ProductName: "Clear coat", Lots: []string{"products/k/lots/1"}, Celsius: &cold, HumidityPercent: &damp, AirNote: "the air is too humid",
		CoatBelow: "seal (case)", Waited: durationpb.New(3600e9)}}})
}

func (f *fake) ListUsualMendings(context.Context, *workflowv1.ListUsualMendingsRequest) (*workflowv1.ListUsualMendingsResponse, error) {
	return &workflowv1.ListUsualMendingsResponse{Mendings: []*workflowv1.ListUsualMendingsResponse_UsualMending{{Fault: "peeling", StageKinds: []string{"strip", "wash_off"}}}}, nil
}

func (f *fake) ListFaultSources(_ context.Context, r *workflowv1.ListFaultSourcesRequest) (*workflowv1.ListFaultSourcesResponse, error) {
	return asked(f, r, &workflowv1.ListFaultSourcesResponse{Sold: 9, Lines: []*workflowv1.ListFaultSourcesResponse_Line{{Key: "products/k", Title: "Clear coat", PiecesBack: 1, Exposed: 8,
		Rate: 0.125, RateLow: 0.0224, RateHigh: 0.4709, Few: true, ReworkTime: durationpb.New(5400e9)}}})
}
