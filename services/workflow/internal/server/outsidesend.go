package server

import (
	"context"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// SendOut implements OutsideWorkService.
func (s *Server) SendOut(ctx context.Context, r *workflowv1.SendOutRequest) (*workflowv1.SendOutResponse, error) {
	now := s.Shop.Now()
	piece, sending, err := s.decodeSending(r)
	if err != nil {
		return nil, err
	}
	// Asked before the transaction, judged inside, as PlanStages does.
	told, askErr := s.unknownParts(ctx, r.Piece, piece)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.SendOutResponse, error) {
		if askErr != nil {
			return nil, askErr
		}
		st := store.New(tx)
		plan, err := lockSending(ctx, st, piece, told)
		if err != nil {
			return nil, err
		}
		_, where, err := st.LockCarrying(ctx, piece, "", sending.At)
		if err != nil {
			return nil, err
		}
		sent, err := plan.SendOut(sending, where, id.New)
		if err != nil {
			return nil, err
		}
		if err := st.InsertOutside(ctx, sent); err != nil {
			return nil, err
		}
		if err := s.note(ctx, tx, plan.Piece, sent.SentAt, now, s.sentOut(sent)); err != nil {
			return nil, err
		}
		return &workflowv1.SendOutResponse{OutsideWork: s.encodeOutside(sent.Outside)}, st.UpdatePiece(ctx, plan.Piece)
	})
}

func (s *Server) decodeSending(r *workflowv1.SendOutRequest) (piece id.ID, q workflow.Sending, err error) {
	q = workflow.Sending{Kind: r.Kind, Firm: r.Firm}
	if q.At, err = s.Shop.Instant("send_time", r.SendTime); err != nil {
		return piece, q, err
	}
	q.At = q.At.In(s.Shop.Zone)
	if q.Due, err = wire.Day("due_date", r.DueDate); err != nil {
		return piece, q, err
	}
	if q.Quoted, err = s.price("quoted", r.Quoted); err != nil {
		return piece, q, err
	}
	if piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
		return piece, q, err
	}
	if q.Part, err = partName(r.Part, piece); err != nil || r.Stage == "" {
		return piece, q, err
	}
	of, stage, err := stageName("stage", r.Stage)
	if err == nil && of != piece {
		err = fault.New(fault.NotFound, "STAGE_NOT_FOUND", "That is a stage of another piece. Name one of this piece's own, or none.").At("stage")
	}
	q.Stage = stage
	return piece, q, err
}

// lockSending locks a piece, planned or not, and reads its plan.
func lockSending(ctx context.Context, st store.Store, piece id.ID, told *intakev1.Piece) (workflow.Plan, error) {
	p, err := lockTold(ctx, st, piece, told)
	if err != nil {
		return workflow.Plan{}, err
	}
	plan, err := st.Plan(ctx, piece)
	plan.Piece = p
	return plan, err
}
