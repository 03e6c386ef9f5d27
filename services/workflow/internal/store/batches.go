package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

var errNoBatch = fault.New(fault.NotFound, "BATCH_NOT_FOUND", "There is no such batch; look at the list of batches.").At("batch")

// LockBatch locks and reads a batch. Fault: BATCH_NOT_FOUND.
func (s Store) LockBatch(ctx context.Context, batch id.ID) (workflow.Batch, error) {
	if err := s.q.LockBatch(ctx, batch); err != nil {
		return workflow.Batch{}, err
	}
	return s.Batch(ctx, batch)
}

// Batch reads a batch. Fault: BATCH_NOT_FOUND.
func (s Store) Batch(ctx context.Context, batch id.ID) (workflow.Batch, error) {
	row, err := s.q.GetBatch(ctx, batch)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Batch{}, errNoBatch
	}
	if err != nil {
		return workflow.Batch{}, err
	}
	b := fromBatch(row)
	rows, err := s.q.SharesOf(ctx, []id.ID{batch})
	for _, row := range rows {
		b.Shares = append(b.Shares, fromShare(row))
	}
	return b, err
}

// LockBatchWhole locks a batch and, before it, the pieces whose stages are in it, and reads
// them: nothing about it changes until the transaction ends. Fault: BATCH_NOT_FOUND.
func (s Store) LockBatchWhole(ctx context.Context, batch id.ID) (workflow.Batch, map[id.ID]workflow.Piece, error) {
	b, err := s.Batch(ctx, batch) // of which stages may leave, and none come
	if err != nil {
		return b, nil, err
	}
	pieces, err := s.Pieces(ctx, b.Pieces())
	if err != nil {
		return b, nil, err
	}
	b, err = s.LockBatch(ctx, batch)
	return b, pieces, err
}

// Batches reads up to limit batches that were formed before one, newest first, id.Nil for the
// newest; with ended those that are no more, too.
func (s Store) Batches(ctx context.Context, ended bool, before id.ID, limit int32) ([]workflow.Batch, error) {
	rows, err := s.q.ListBatches(ctx, storedb.ListBatchesParams{IncludeEnded: ended, Before: nullable(before), PageLimit: limit})
	if err != nil {
		return nil, err
	}
	batches, ids, at := make([]workflow.Batch, len(rows)), make([]id.ID, len(rows)), map[id.ID]int{}
	for i, row := range rows {
		batches[i], ids[i], at[row.ID] = fromBatch(row), row.ID, i
	}
	shares, err := s.q.SharesOf(ctx, ids)
	for _, row := range shares {
		b := &batches[at[row.BatchID]]
		b.Shares = append(b.Shares, fromShare(row))
	}
	return batches, err
}

// OpenBatchNames reads what open batches are called.
func (s Store) OpenBatchNames(ctx context.Context) (map[id.ID]string, error) {
	rows, err := s.q.OpenBatchNames(ctx)
	names := make(map[id.ID]string, len(rows))
	for _, row := range rows {
		names[row.ID] = row.DisplayName
	}
	return names, err
}

// InsertBatch writes a new batch; that its stages are in it, UpdateStage writes. Fault at commit:
// BATCH_NAME_TAKEN.
func (s Store) InsertBatch(ctx context.Context, b workflow.Batch) error {
	err := s.q.InsertBatch(ctx, storedb.InsertBatchParams{ID: b.ID, DisplayName: b.Name, NameKey: wire.NameKey(b.Name), State: string(b.State), Split: string(b.Split), StageKind: b.Kind,
		ProductID: nullable(b.Product), ProductName: b.ProductName, FormedAt: b.FormedAt, EndedAt: orNull(b.EndedAt), Version: b.Version})
	if err != nil {
		return err
	}
	for i, share := range b.Shares {
		err := s.q.InsertShare(ctx, storedb.InsertShareParams{BatchID: b.ID, StageID: share.Stage, PieceID: share.Piece, Position: int32(i + 1), Pass: share.Pass, Weight: share.Weight})
		if err != nil {
			return err
		}
	}
	return nil
}

// UpdateBatch writes what a batch has come to; one that has ended lets go of its stages.
func (s Store) UpdateBatch(ctx context.Context, b workflow.Batch) error {
	if b.State != workflow.BatchOpen {
		if err := s.q.FreeStages(ctx, b.ID); err != nil {
			return err
		}
	}
	return s.q.UpdateBatch(ctx, storedb.UpdateBatchParams{ID: b.ID, State: string(b.State), EndedAt: orNull(b.EndedAt), Version: b.Version})
}

// LeaveBatch writes since when a stage is no longer in a batch that goes on.
func (s Store) LeaveBatch(ctx context.Context, batch, stage id.ID, at time.Time) error {
	if err := s.q.FreeStage(ctx, stage); err != nil {
		return err
	}
	return s.q.LeaveBatch(ctx, storedb.LeaveBatchParams{BatchID: batch, StageID: stage, LeftAt: at})
}

// OnTheClockAt reads the names of all who are on the clock at any of some stages.
func (s Store) OnTheClockAt(ctx context.Context, stages []id.ID) ([]string, error) {
	return s.q.OnTheClockAt(ctx, stages)
}

func fromBatch(row storedb.Batch) workflow.Batch {
	return workflow.Batch{ID: row.ID, Name: row.DisplayName, State: workflow.BatchState(row.State), Split: workflow.BatchSplit(row.Split), Kind: row.StageKind,
		Product: row.ProductID.UUID, ProductName: row.ProductName, FormedAt: row.FormedAt, EndedAt: orZero(row.EndedAt), Version: row.Version}
}

func fromShare(row storedb.SharesOfRow) workflow.Share {
	return workflow.Share{Stage: row.StageID, Title: workflow.Stage{Key: row.Key, PartLabel: row.PartLabel}.Title(), Piece: row.PieceID, Tag: row.Tag, Pass: row.Pass, Weight: row.Weight,
		Left: orZero(row.LeftAt)}
}
