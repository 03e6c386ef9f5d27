package cli

import (
	"context"

	"google.golang.org/grpc"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// assessor answers with what was asked, and of the first piece with a veneered case that somebody looked at.
type assessor struct {
	intakev1.UnimplementedAssessmentServiceServer
	f *fake
}

func (a *assessor) register(s grpc.ServiceRegistrar) { intakev1.RegisterAssessmentServiceServer(s, a) }

func (a *assessor) AssessPart(_ context.Context, r *intakev1.AssessPartRequest) (*intakev1.AssessPartResponse, error) {
	return note(a.f, r, &intakev1.AssessPartResponse{Assessment: &intakev1.PartAssessment{Part: r.Part, PartLabel: "case", Seen: r.Seen, Actor: "Odile"}})
}

func (a *assessor) GetAssessment(context.Context, *intakev1.GetAssessmentRequest) (*intakev1.GetAssessmentResponse, error) {
	return &intakev1.GetAssessmentResponse{Piece: "pieces/a", PieceTag: 1, NotAssessed: 1, Parts: []*intakev1.PartAssessment{
		{Part: "pieces/a/parts/c", PartLabel: "case", Actor: "Odile", AssessTime: noon, Seen: &intakev1.PartSeen{Material: "veneer", Species: "walnut", OldFinish: "shellac", Waxed: true,
			PaintedIn: 1930, PaintedInDecade: true, Condition: typev1.PieceCondition_PIECE_CONDITION_WORN, Note: "a gift",
			Defects: []*intakev1.PartDefect{{Kind: "veneer chip", Severity: intakev1.PartDefect_SEVERITY_TO_MEND, Where: "front edge", Photos: []string{"photos/p3"}}}},
			VeneerFloor: &intakev1.VeneerFloor{Thickness: amount("0.5", "mm"), Presumed: true, Floor: amount("0.2", "mm"), Sandable: amount("0.3", "mm"), Rule: "rules/veneer-left", Source: "common practice"}},
		{Part: "pieces/a/parts/d", PartLabel: "drawers"}}}, nil
}
