package store

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
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

func fromBatch(row storedb.Batch) workflow.Batch {
	return workflow.Batch{ID: row.ID, Name: row.DisplayName, State: workflow.BatchState(row.State), Split: workflow.BatchSplit(row.Split), Kind: row.StageKind,
		Product: row.ProductID.UUID, ProductName: row.ProductName, FormedAt: row.FormedAt, EndedAt: orZero(row.EndedAt), Version: row.Version}
}

func fromShare(row storedb.SharesOfRow) workflow.Share {
	return workflow.Share{Stage: row.StageID, Title: workflow.Stage{Key: row.Key, PartLabel: row.PartLabel}.Title(), Piece: row.PieceID, Tag: row.Tag, Pass: row.Pass, Weight: row.Weight}
}
