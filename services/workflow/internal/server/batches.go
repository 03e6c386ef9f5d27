package server

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"

	"google.golang.org/protobuf/proto"
)

// place is a stage of a piece.
type place struct{ piece, stage id.ID }

// FormBatch implements BatchService.
func (s *Server) FormBatch(ctx context.Context, r *workflowv1.FormBatchRequest) (*workflowv1.FormBatchResponse, error) {
	now := s.Shop.Now()
	var places []place
	for i, name := range r.Stages {
		piece, stage, err := stageName(fmt.Sprintf("stages[%d]", i), name)
		if err != nil {
			return nil, err
		}
		places = append(places, place{piece, stage})
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.FormBatchResponse, error) {
		st := store.New(tx)
		members, err := lockMembers(ctx, st, places)
		if err != nil {
			return nil, atStages(err)
		}
		batch, stages, err := workflow.FormBatch(id.New(), r.DisplayName, splits[r.Split], members, now.UTC().Truncate(time.Millisecond))
		if err != nil {
			return nil, atStages(err)
		}
		if err := st.InsertBatch(ctx, batch); err != nil {
			return nil, err
		}
		for _, stage := range stages {
			if err := st.UpdateStage(ctx, *stage); err != nil {
				return nil, err
			}
		}
		return &workflowv1.FormBatchResponse{Batch: encodeBatch(batch)}, s.noteBatch(ctx, tx, batch, batch.FormedAt, now, batchFormed(batch))
	})
}

// atStages says that what a request names in its field stages is not there.
func atStages(err error) error {
	if f := fault.Of(err); f != nil && f.Reason == "STAGE_NOT_FOUND" {
		return f.At("stages")
	}
	return err
}

// lockMembers locks the pieces of some stages, by id, and reads their plans. Fault:
// STAGE_NOT_FOUND.
func lockMembers(ctx context.Context, st store.Store, places []place) ([]workflow.Member, error) {
	var pieces []id.ID
	for _, p := range places {
		if !slices.Contains(pieces, p.piece) {
			pieces = append(pieces, p.piece)
		}
	}
	if _, err := st.Pieces(ctx, pieces); err != nil {
		return nil, err
	}
	plans := map[id.ID]*workflow.Plan{}
	for _, piece := range pieces {
		plan, err := st.Plan(ctx, piece)
		if err != nil {
			return nil, err
		}
		plans[piece] = &plan
	}
	members := make([]workflow.Member, len(places))
	for i, p := range places {
		in, err := batchOf(ctx, st, plans[p.piece], p.stage)
		if err != nil {
			return nil, err
		}
		members[i] = workflow.Member{Plan: plans[p.piece], Stage: p.stage, In: in}
	}
	return members, nil
}

// batchOf is the name of the batch that a stage is in; empty: none.
func batchOf(ctx context.Context, st store.Store, plan *workflow.Plan, stage id.ID) (string, error) {
	i := slices.IndexFunc(plan.Stages, func(s workflow.Stage) bool { return s.ID == stage && s.Batch != id.Nil })
	if i < 0 {
		return "", nil
	}
	b, err := st.Batch(ctx, plan.Stages[i].Batch)
	return b.Name, err
}

// noteBatch writes an event about a batch, of the version it has come to.
func (s *Server) noteBatch(ctx context.Context, tx *pg.Tx, b workflow.Batch, at, now time.Time, payload proto.Message) error {
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "batch", Aggregate: b.ID, Version: b.Version, OccurredAt: at, Payload: payload}, now)
}

// endBatch writes that a batch is no more, and tells it.
func (s *Server) endBatch(ctx context.Context, tx *pg.Tx, b workflow.Batch, now time.Time) error {
	if err := store.New(tx).UpdateBatch(ctx, b); err != nil {
		return err
	}
	return s.noteBatch(ctx, tx, b, b.EndedAt, now, &eventsv1.BatchEnded{BatchId: b.ID.String(), Finished: b.State == workflow.BatchFinished})
}

// leaveBatch takes a stage that was finished by itself out of an open batch, whose last one
// ends it.
func (s *Server) leaveBatch(ctx context.Context, tx *pg.Tx, batch, stage id.ID, at, now time.Time) error {
	st := store.New(tx)
	b, err := st.LockBatch(ctx, batch)
	if err != nil {
		return err
	}
	if b.Leave(stage, at); b.State != workflow.BatchOpen {
		return s.endBatch(ctx, tx, b, now)
	}
	return st.LeaveBatch(ctx, batch, stage, at)
}

// DissolveBatch implements BatchService.
func (s *Server) DissolveBatch(ctx context.Context, r *workflowv1.DissolveBatchRequest) (*workflowv1.DissolveBatchResponse, error) {
	now := s.Shop.Now()
	batchID, err := id.One("batch", r.Batch, "batches")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.DissolveBatchResponse, error) {
		st := store.New(tx)
		batch, _, err := st.LockBatchWhole(ctx, batchID)
		if err != nil {
			return nil, err
		}
		onIt, err := st.OnTheClockAt(ctx, batch.Stages())
		if err != nil {
			return nil, err
		}
		if err := batch.Dissolve(onIt, now.UTC().Truncate(time.Millisecond)); err != nil {
			return nil, err
		}
		return &workflowv1.DissolveBatchResponse{Batch: encodeBatch(batch)}, s.endBatch(ctx, tx, batch, now)
	})
}

// GetBatch implements BatchService.
func (s *Server) GetBatch(ctx context.Context, r *workflowv1.GetBatchRequest) (*workflowv1.GetBatchResponse, error) {
	batchID, err := id.One("name", r.Name, "batches")
	if err != nil {
		return nil, err
	}
	var batch workflow.Batch
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		batch, err = store.New(q).Batch(ctx, batchID)
		return err
	})
	if err != nil {
		return nil, atName(err)
	}
	return &workflowv1.GetBatchResponse{Batch: encodeBatch(batch)}, nil
}

// ListBatches implements BatchService.
func (s *Server) ListBatches(ctx context.Context, r *workflowv1.ListBatchesRequest) (*workflowv1.ListBatchesResponse, error) {
	var before id.ID
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var batches []workflow.Batch
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		batches, err = store.New(q).Batches(ctx, r.IncludeEnded, before, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListBatchesResponse{NextPageToken: page.Next(batches, size, func(b workflow.Batch) any { return b.ID })}
	for _, b := range batches {
		out.Batches = append(out.Batches, encodeBatch(b))
	}
	return out, nil
}

// ListBatchable implements BatchService.
func (s *Server) ListBatchable(ctx context.Context, _ *workflowv1.ListBatchableRequest) (*workflowv1.ListBatchableResponse, error) {
	now := s.Shop.Now()
	out := &workflowv1.ListBatchableResponse{}
	err := s.DB.Snapshot(ctx, func(q pg.Querier) error {
		open, err := store.New(q).Open(ctx)
		if err != nil {
			return err
		}
		for _, g := range workflow.Batchable(open, now) {
			out.Groups = append(out.Groups, encodeGroup(g, now))
		}
		return nil
	})
	return out, err
}
