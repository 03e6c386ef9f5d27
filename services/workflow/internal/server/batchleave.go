package server

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// LeaveBatch implements BatchService.
func (s *Server) LeaveBatch(ctx context.Context, r *workflowv1.LeaveBatchRequest) (*workflowv1.LeaveBatchResponse, error) {
	now := s.Shop.Now()
	piece, stage, err := stageName("stage", r.Stage)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.LeaveBatchResponse, error) {
		batch, err := s.takeOut(ctx, tx, piece, stage, now)
		return &workflowv1.LeaveBatchResponse{Batch: encodeBatch(batch)}, err
	})
}

// takeOut takes one stage out of its batch, and tells it.
func (s *Server) takeOut(ctx context.Context, tx *pg.Tx, pieceID, stageID id.ID, now time.Time) (batch workflow.Batch, err error) {
	st := store.New(tx)
	plan, err := st.LockPlan(ctx, pieceID)
	if err != nil {
		return batch, err
	}
	stage, err := plan.Stage(stageID)
	if err != nil {
		return batch, err
	}
	if err := stage.InBatch(); err != nil {
		return batch, err
	}
	if batch, err = st.LockBatch(ctx, stage.Batch); err != nil {
		return batch, err
	}
	at := now.UTC().Truncate(time.Millisecond)
	if err := batch.TakeOut(*stage, plan.OnIt[stageID], at); err != nil {
		return batch, err
	}
	if batch.State != workflow.BatchOpen {
		return batch, s.endBatch(ctx, tx, batch, now)
	}
	return batch, s.tellLeft(ctx, tx, batch, stageID, now)
}

// dropScrapped takes the stages of scrapped pieces out of a batch with which somebody goes on,
// and tells it. Fault: BATCH_NOT_OPEN.
func (s *Server) dropScrapped(ctx context.Context, tx *pg.Tx, b *workflow.Batch, pieces map[id.ID]workflow.Piece, at, now time.Time) error {
	gone, err := b.DropScrapped(pieces, at.UTC())
	if err != nil {
		return err
	}
	for _, share := range gone {
		b.Version++
		if err := s.tellLeft(ctx, tx, *b, share.Stage, now); err != nil {
			return err
		}
	}
	return nil
}

// tellLeft writes that a stage left a batch that goes on, and tells it.
func (s *Server) tellLeft(ctx context.Context, tx *pg.Tx, b workflow.Batch, stage id.ID, now time.Time) error {
	st := store.New(tx)
	share := b.Share(stage)
	if err := st.LeaveBatch(ctx, b.ID, stage, share.Left); err != nil {
		return err
	}
	if err := st.UpdateBatch(ctx, b); err != nil {
		return err
	}
	return s.noteBatch(ctx, tx, b, share.Left, now, &eventsv1.StageLeftBatch{BatchId: b.ID.String(), PieceId: share.Piece.String(), StageId: stage.String()})
}
