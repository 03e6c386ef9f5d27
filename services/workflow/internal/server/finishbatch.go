package server

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// FinishBatch implements BatchService.
func (s *Server) FinishBatch(ctx context.Context, r *workflowv1.FinishBatchRequest) (*workflowv1.FinishBatchResponse, error) {
	now := s.Shop.Now()
	word, err := optionalZone(r.Zone)
	if err != nil {
		return nil, err
	}
	at, err := s.Shop.Instant("finish_time", r.FinishTime)
	if err != nil {
		return nil, err
	}
	batchID, err := id.One("batch", r.Batch, "batches")
	if err != nil {
		return nil, err
	}
	d := done{zone: word, filmUm: r.WetFilmUm, override: r.OverrideReason}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.FinishBatchResponse, error) {
		batch, pieces, err := store.New(tx).LockBatchWhole(ctx, batchID)
		if err != nil {
			return nil, err
		}
		if err := s.dropScrapped(ctx, tx, &batch, pieces, at, now); err != nil {
			return nil, err
		}
		if err := batch.Finish(at); err != nil {
			return nil, err
		}
		out := &workflowv1.FinishBatchResponse{Batch: encodeBatch(batch)}
		for _, share := range batch.In() {
			stage, err := s.finishShare(ctx, tx, share, at, now, d)
			if err != nil {
				return nil, workflow.OfPiece(err, share.Tag)
			}
			out.Stages = append(out.Stages, stage)
		}
		return out, s.endBatch(ctx, tx, batch, now)
	})
}

// finishShare finishes one stage of a batch as FinishStage does. What the one before it made
// of the piece is read anew.
func (s *Server) finishShare(ctx context.Context, tx *pg.Tx, share workflow.Share, at, now time.Time, d done) (*workflowv1.Stage, error) {
	st := store.New(tx)
	plan, err := st.Plan(ctx, share.Piece)
	if err != nil {
		return nil, err
	}
	c, err := s.finish(ctx, st, &plan, share.Stage, at, d)
	if err != nil {
		return nil, err
	}
	c.stages[0].Leave() // with all the others, and not by itself
	if err := s.save(ctx, tx, &plan, c, at, now); err != nil {
		return nil, err
	}
	return encodeStage(&plan, *c.stages[0], now), nil
}
