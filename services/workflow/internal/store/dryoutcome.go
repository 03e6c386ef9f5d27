package store

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/drying"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
)

// Factor reads what was learned of a product; known is false where nobody has timed it.
func (s Store) Factor(ctx context.Context, product id.ID) (f drying.Factor, known bool, err error) {
	row, err := s.q.GetFactor(ctx, product)
	if errors.Is(err, pgx.ErrNoRows) {
		return f, false, nil
	}
	return drying.Factor{LogMean: row.LogMean, LogStdDev: row.LogStdDev, Outcomes: int(row.Outcomes)}, row.Outcomes > 0, err
}

// LockFactor locks what is known of a product, so that two people who felt it at once both
// add to it. It comes before the lock of a piece.
func (s Store) LockFactor(ctx context.Context, product id.ID) error {
	if err := s.q.EnsureFactor(ctx, product); err != nil {
		return err
	}
	return s.q.LockFactor(ctx, product)
}

// SaveOutcome writes what somebody felt of a product after a stage, and what is known of it
// since.
func (s Store) SaveOutcome(ctx context.Context, outcome, stage, product id.ID, o drying.Outcome, f drying.Factor, actor string) error {
	row := storedb.InsertOutcomeParams{ID: outcome, StageID: stage, ProductID: product, Milestone: o.Milestone.String(),
		NotYetAt: orNull(o.NotYet), ReachedAt: orNull(o.Reached), Actor: actor}
	if err := s.q.InsertOutcome(ctx, row); err != nil {
		return err
	}
	return s.q.UpdateFactor(ctx, storedb.UpdateFactorParams{ProductID: product, LogMean: f.LogMean, LogStdDev: f.LogStdDev, Outcomes: int32(f.Outcomes)})
}
