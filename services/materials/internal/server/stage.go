package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/materials/internal/materials"
)

// stage asks workflow for the stage as it was at a time, and intake for its piece, before
// the transaction. Between the answers and the commit the piece can be scrapped, or the
// stage be sent back as of an earlier time; the books then keep what was true when asked.
func (s *Server) stage(ctx context.Context, of materials.Stage, at time.Time) (materials.Stage, error) {
	asked, err := s.Workflow.GetStage(ctx, &workflowv1.GetStageRequest{Name: id.Name("pieces", of.Piece, "stages", of.ID)})
	if err != nil {
		return of, notFoundAt("stage", err)
	}
	piece, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: id.Name("pieces", of.Piece)})
	if err != nil {
		return of, notFoundAt("stage", err)
	}
	of.Kind, of.Pass = asked.Stage.GetKind(), materials.PassAt(times(asked.Stage.GetSendBackTimes()), at)
	before := asked.PieceScrapTime != nil && at.Before(asked.PieceScrapTime.AsTime()) // what was used by then was used
	of.Scrapped = piece.Piece.GetState() == intakev1.Piece_STATE_SCRAPPED && !before
	return of, nil
}

// stageOrNone is stage, and none of none.
func (s *Server) stageOrNone(ctx context.Context, of materials.Stage, at time.Time) (materials.Stage, error) {
	if of.Piece == id.Nil {
		return of, nil
	}
	return s.stage(ctx, of, at)
}

func times(all []*timestamppb.Timestamp) []time.Time {
	out := make([]time.Time, len(all))
	for n, ts := range all {
		out[n] = ts.AsTime()
	}
	return out
}

// notFoundAt points a refusal at the field that our request has for what was not found.
func notFoundAt(field string, err error) error {
	if f := fault.Of(err); f != nil && f.Kind == fault.NotFound {
		return f.At(field)
	}
	return err
}
