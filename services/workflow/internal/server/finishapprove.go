package server

import (
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// ApproveFinishPlan implements FinishService.
func (s *Server) ApproveFinishPlan(ctx context.Context, r *workflowv1.ApproveFinishPlanRequest) (*workflowv1.ApproveFinishPlanResponse, error) {
	now := s.Shop.Now()
	e, err := s.readEdits(ctx, r.Piece, r.Stages, r.Overrides)
	if err != nil {
		return nil, err
	}
	told, toldErr := s.askPiece(ctx, r.Piece)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.ApproveFinishPlanResponse, error) {
		st := store.New(tx)
		piece, plan, err := lockDraft(ctx, st, e.piece, r.Etag)
		if err != nil {
			return nil, err
		}
		if plan.PlanBody, err = e.revise(ctx, st, plan, workflow.Floor{Plan: workflow.Plan{Piece: piece}}); err != nil {
			return nil, err
		}
		overrides, err := e.named(ctx, st)
		if err != nil {
			return nil, err
		}
		laid, err := plan.Approve(piece, overrides, caller.Of(ctx).Actor, now.UTC().Truncate(time.Millisecond), id.New)
		if err != nil {
			return nil, err
		}
		if toldErr != nil {
			return nil, toldErr
		}
		if err := st.InsertStages(ctx, laid.Stages); err != nil {
			return nil, err
		}
		if err := saveParts(ctx, st, piece.ID, told); err != nil {
			return nil, err
		}
		if err := st.ApproveDraft(ctx, plan); err != nil {
			return nil, err
		}
		if err := st.UpdatePiece(ctx, laid.Piece); err != nil {
			return nil, err
		}
		answer := &workflowv1.ApproveFinishPlanResponse{Plan: encodeFinishPlan(plan, nil), Stages: encodeStages(laid, now)}
		return answer, s.note(ctx, tx, laid.Piece, plan.ApprovedAt, now, finishPlanApproved(plan, laid.Stages, overrides))
	})
}

// lockDraft locks a piece and reads its draft. Faults: PLAN_NOT_FOUND, PIECE_SCRAPPED,
// PIECE_ALREADY_PLANNED, ETAG_MISMATCH.
func lockDraft(ctx context.Context, st store.Store, pieceID id.ID, etag string) (workflow.Piece, workflow.FinishPlan, error) {
	piece, err := st.Piece(ctx, pieceID)
	if err != nil {
		return piece, workflow.FinishPlan{}, planOf(err)
	}
	if err := piece.CheckPlan(); err != nil {
		return piece, workflow.FinishPlan{}, err
	}
	plan, err := newestPlan(ctx, st, pieceID)
	if err != nil {
		return piece, plan, err
	}
	return piece, plan, wire.CheckEtag(etag, int64(plan.Version))
}

// planOf says of a piece that the floor does not know that it has no finish plan either.
func planOf(err error) error {
	if fault.Is(err, "STAGE_NOT_FOUND") {
		return fault.New(fault.NotFound, "PLAN_NOT_FOUND", "The piece has no finish plan; draft one first.").At("piece")
	}
	return err
}

// AmendFinishPlan implements FinishService.
func (s *Server) AmendFinishPlan(ctx context.Context, r *workflowv1.AmendFinishPlanRequest) (*workflowv1.AmendFinishPlanResponse, error) {
	now := s.Shop.Now()
	e, err := s.readEdits(ctx, r.Piece, r.Stages, r.Overrides)
	if err != nil {
		return nil, err
	}
	told, toldErr := s.askPiece(ctx, r.Piece)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.AmendFinishPlanResponse, error) {
		st := store.New(tx)
		floor, plan, err := lockFloor(ctx, st, e.piece, r.Etag)
		if err != nil {
			return nil, err
		}
		a, given, err := e.amend(ctx, st, plan, floor)
		if err != nil {
			return nil, err
		}
		a.Approve(floor, caller.Of(ctx).Actor, r.Reason, now.UTC().Truncate(time.Millisecond), id.New)
		if toldErr != nil {
			return nil, toldErr
		}
		if err := st.Amend(ctx, a); err != nil {
			return nil, err
		}
		if err := saveParts(ctx, st, e.piece, told); err != nil {
			return nil, err
		}
		if err := st.Supersede(ctx, a.Plan); err != nil {
			return nil, err
		}
		floor.Piece.Version++
		floor.Stages = a.Stages()
		if err := s.note(ctx, tx, floor.Piece, a.Plan.ApprovedAt, now, finishPlanAmended(a, given)); err != nil {
			return nil, err
		}
		if err := s.renewDrying(ctx, tx, &floor.Plan, now); err != nil {
			return nil, err
		}
		answer := &workflowv1.AmendFinishPlanResponse{Plan: encodeFinishPlan(a.Plan, floor.Begun), Stages: encodeStages(floor.Plan, now)}
		return answer, st.UpdatePiece(ctx, floor.Piece)
	})
}

// lockFloor locks a piece and reads its newest plan and how far the work by it has come.
// Faults: PLAN_NOT_FOUND, ETAG_MISMATCH.
func lockFloor(ctx context.Context, st store.Store, pieceID id.ID, etag string) (f workflow.Floor, plan workflow.FinishPlan, err error) {
	if f, plan, err = seeFloor(ctx, st, st.LockPlan, pieceID); err != nil {
		return f, plan, err
	}
	return f, plan, wire.CheckEtag(etag, int64(plan.Version))
}

// amend decides on the new version; it returns the overrides given for it, with names.
func (e edits) amend(ctx context.Context, st store.Store, plan workflow.FinishPlan, f workflow.Floor) (a workflow.Amendment, given []workflow.PlanOverride, err error) {
	if e.askErr != nil {
		return a, nil, e.askErr
	}
	if given, err = e.named(ctx, st); err != nil {
		return a, nil, err
	}
	labour, err := st.Labour(ctx)
	if err != nil {
		return a, nil, err
	}
	e.Overrides = given
	a, err = plan.Amend(f, e.Edits, labour)
	return a, given, err
}
