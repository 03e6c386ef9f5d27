package store

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// OverheadRates reads all overhead rates, in the order they were recorded.
func (s Store) OverheadRates(ctx context.Context) ([]costing.OverheadRate, error) {
	rows, err := s.q.OverheadRates(ctx)
	return overheadRates(rows), err
}

// ListOverheadRates reads up to limit overhead rates with a higher id.
func (s Store) ListOverheadRates(ctx context.Context, after id.ID, limit int32) ([]costing.OverheadRate, error) {
	rows, err := s.q.ListOverheadRates(ctx, storedb.ListOverheadRatesParams{After: after, PageLimit: limit})
	return overheadRates(rows), err
}

func overheadRates(rows []storedb.OverheadRate) []costing.OverheadRate {
	list := make([]costing.OverheadRate, len(rows))
	for i, row := range rows {
		list[i] = costing.OverheadRate{ID: row.ID, Department: row.Department, StageKinds: row.StageKinds, Basis: costing.Basis(row.Basis),
			PerHour: money.Amount(row.PerHour), Day: row.EffectiveDay, From: row.EffectiveAt, Actor: row.Actor, RecordedAt: row.RecordedAt}
	}
	return list
}

// InsertOverheadRate writes a new overhead rate.
func (s Store) InsertOverheadRate(ctx context.Context, r costing.OverheadRate) error {
	kinds := r.StageKinds
	if kinds == nil {
		kinds = []string{}
	}
	return s.q.InsertOverheadRate(ctx, storedb.InsertOverheadRateParams{ID: r.ID, Department: r.Department, StageKinds: kinds, Basis: string(r.Basis),
		PerHour: int64(r.PerHour), EffectiveDay: r.Day, EffectiveAt: r.From, Actor: r.Actor, RecordedAt: r.RecordedAt})
}

// StretchesOn reads what was worked on stages of pieces.
func (s Store) StretchesOn(ctx context.Context, stages, pieces []id.ID) ([]costing.Stretch, error) {
	rows, err := s.q.StretchesOn(ctx, storedb.StretchesOnParams{Stages: stages, Pieces: pieces})
	list := make([]costing.Stretch, len(rows))
	for i, row := range rows {
		list[i] = fromStretch(row)
	}
	return list, err
}

// OverheadActual reads what was spent. Fault: OVERHEAD_ACTUAL_NOT_FOUND.
func (s Store) OverheadActual(ctx context.Context, actual id.ID) (costing.OverheadActual, error) {
	row, err := s.q.GetOverheadActual(ctx, actual)
	if errors.Is(err, pgx.ErrNoRows) {
		return costing.OverheadActual{}, fault.New(fault.NotFound, "OVERHEAD_ACTUAL_NOT_FOUND", "Nothing was entered under that name; look it up in the list.").At("name")
	}
	return fromActual(storedb.ListOverheadActualsRow(row)), err
}

// ListOverheadActuals reads up to limit rows with a higher id, of what was spent from an instant up to
// but not at another.
func (s Store) ListOverheadActuals(ctx context.Context, after id.ID, since, before time.Time, limit int32) ([]costing.OverheadActual, error) {
	rows, err := s.q.ListOverheadActuals(ctx, storedb.ListOverheadActualsParams{After: after, Since: since, Before: before, PageLimit: limit})
	list := make([]costing.OverheadActual, len(rows))
	for i, row := range rows {
		list[i] = fromActual(row)
	}
	return list, err
}

func fromActual(row storedb.ListOverheadActualsRow) costing.OverheadActual {
	return costing.OverheadActual{ID: row.ID, Day: row.Day, At: row.OccurredAt, What: row.What, Amount: money.Amount(row.Amount), Note: row.Note,
		TakesBack: row.TakesBack.UUID, Reason: row.Reason, TakenBackBy: row.TakenBackBy.UUID, Actor: row.Actor, RecordedAt: row.RecordedAt}
}

// PostedActuals reads of all that was spent what the ledger says of it.
func (s Store) PostedActuals(ctx context.Context) ([]costing.OverheadActual, error) {
	rows, err := s.q.AllOverheadActuals(ctx)
	list := make([]costing.OverheadActual, len(rows))
	for i, row := range rows {
		list[i] = costing.OverheadActual{ID: row.ID, At: row.OccurredAt, Amount: money.Amount(row.Amount), RecordedAt: row.RecordedAt}
	}
	return list, err
}

// InsertOverheadActual writes that something was spent, or that it was not.
func (s Store) InsertOverheadActual(ctx context.Context, a costing.OverheadActual) error {
	return s.q.InsertOverheadActual(ctx, storedb.InsertOverheadActualParams{ID: a.ID, Day: a.Day, OccurredAt: a.At, What: a.What, Amount: int64(a.Amount),
		Note: a.Note, TakesBack: uuid.NullUUID{UUID: a.TakesBack, Valid: a.TakesBack != id.Nil}, Reason: a.Reason, Actor: a.Actor, RecordedAt: a.RecordedAt})
}
