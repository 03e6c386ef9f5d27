package server

import (
	"context"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/materials/internal/materials"
)

// stage asks workflow for the stage and intake for its piece, before the transaction.
// Between the answers and the commit the stage can be sent back or the piece be scrapped;
// the books then keep the material under the pass that it was meant for.
func (s *Server) stage(ctx context.Context, at materials.Stage) (materials.Stage, error) {
	asked, err := s.Workflow.GetStage(ctx, &workflowv1.GetStageRequest{Name: id.Name("pieces", at.Piece, "stages", at.ID)})
	if err != nil {
		return at, notFoundAt("stage", err)
	}
	piece, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: id.Name("pieces", at.Piece)})
	if err != nil {
		return at, notFoundAt("stage", err)
	}
	at.Kind, at.Pass = asked.Stage.GetKind(), asked.Stage.GetPass()
	at.Scrapped = piece.Piece.GetState() == intakev1.Piece_STATE_SCRAPPED
	return at, nil
}

// notFoundAt points a refusal at the field that our request has for what was not found.
func notFoundAt(field string, err error) error {
	if f := fault.Of(err); f != nil && f.Kind == fault.NotFound {
		return f.At(field)
	}
	return err
}
