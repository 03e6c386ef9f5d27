package store

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/drying"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// Factor reads what was learned of a product, and how often that has changed; known is false
// where nobody has timed it.
func (s Store) Factor(ctx context.Context, product id.ID) (f drying.Factor, lessons int, known bool, err error) {
	row, err := s.q.GetFactor(ctx, product)
	if errors.Is(err, pgx.ErrNoRows) {
		return f, 0, false, nil
	}
	return drying.Factor{LogMean: row.LogMean, LogStdDev: row.LogStdDev, Outcomes: int(row.Outcomes)}, int(row.Lessons), row.Outcomes > 0, err
}

// LockFactor locks what is known of a product, so that two people who felt it at once both
// add to it. It comes before the lock of a piece.
func (s Store) LockFactor(ctx context.Context, product id.ID) error {
	if err := s.q.EnsureFactor(ctx, product); err != nil {
		return err
	}
	return s.q.LockFactor(ctx, product)
}

// SaveOutcome writes what somebody felt of a coat, and what all that was felt of the
// milestone until then stands for.
func (s Store) SaveOutcome(ctx context.Context, outcome id.ID, c workflow.DryClock, o drying.Outcome, stands drying.Interval, actor string) error {
	return s.q.InsertOutcome(ctx, storedb.InsertOutcomeParams{ID: outcome, StageID: c.Stage, Pass: c.Pass, ProductID: c.Product, Milestone: o.Milestone.String(),
		NotYetAt: orNull(o.NotYet), ReachedAt: orNull(o.Reached), Low: stands.Low, High: stands.High, Actor: actor})
}

// Outcomes are what was felt of the coats of a product: of each coat what the last sighting
// of each milestone stands for, oldest first, as drying.Learn takes them.
func (s Store) Outcomes(ctx context.Context, product id.ID) (coats [][]drying.Interval, err error) {
	rows, err := s.q.OutcomesOf(ctx, product)
	for i, row := range rows {
		if i == 0 || rows[i-1].StageID != row.StageID || rows[i-1].Pass != row.Pass {
			coats = append(coats, nil)
		}
		last := &coats[len(coats)-1]
		*last = append(*last, drying.Interval{Low: row.Low, High: row.High})
	}
	return coats, err
}

// SaveFactor writes what is known of a locked product, and tells how often that has changed.
func (s Store) SaveFactor(ctx context.Context, product id.ID, f drying.Factor) (lessons int, err error) {
	n, err := s.q.UpdateFactor(ctx, storedb.UpdateFactorParams{ProductID: product, LogMean: f.LogMean, LogStdDev: f.LogStdDev, Outcomes: int32(f.Outcomes)})
	return int(n), err
}
