package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// ListStandardRates reads up to limit standard rates with a higher id.
func (s Store) ListStandardRates(ctx context.Context, after id.ID, limit int32) ([]costing.StandardRate, error) {
	rows, err := s.q.ListStandardRates(ctx, storedb.ListStandardRatesParams{After: after, PageLimit: limit})
	return fromStandardRates(rows), err
}

// StandardRates reads all of them, in the order in which they begin.
func (s Store) StandardRates(ctx context.Context) ([]costing.StandardRate, error) {
	rows, err := s.q.StandardRates(ctx)
	return fromStandardRates(rows), err
}

func fromStandardRates(rows []storedb.StandardRate) []costing.StandardRate {
	out := make([]costing.StandardRate, len(rows))
	for i, row := range rows {
		out[i] = costing.StandardRate{ID: row.ID, Day: row.EffectiveDay, From: row.EffectiveAt, PerHour: money.Amount(row.PerHour), Actor: row.Actor, RecordedAt: row.RecordedAt}
	}
	return out
}

// InsertStandardRate writes a new one.
func (s Store) InsertStandardRate(ctx context.Context, r costing.StandardRate) error {
	return s.q.InsertStandardRate(ctx, storedb.InsertStandardRateParams{ID: r.ID, EffectiveDay: r.Day, EffectiveAt: r.From, PerHour: int64(r.PerHour), Actor: r.Actor, RecordedAt: r.RecordedAt})
}

// AverageRate reads what an hour costs on average at an instant; nil: nobody worked who has a rate. It
// looks at all labour.
func (s Store) AverageRate(ctx context.Context, at time.Time) (*money.Amount, error) {
	rows, err := s.q.RatesByHours(ctx, at)
	hours := make([]costing.RatedHours, len(rows))
	for i, row := range rows {
		hours[i] = costing.RatedHours{PerHour: money.Amount(row.PerHour), Time: time.Duration(row.Ms) * time.Millisecond}
	}
	return costing.AverageRate(hours), err
}

// Yardstick reads what an hour should have cost at some instants, and what it costs on average at another
// if one of them is before the owner said anything; else that is nil.
func (s Store) Yardstick(ctx context.Context, at []time.Time, averageAt time.Time) (y costing.Yardstick, average *money.Amount, err error) {
	said, err := s.StandardRates(ctx)
	if err != nil {
		return y, nil, err
	}
	y = costing.NewYardstick(said, nil)
	for _, instant := range at {
		if _, known := y.At(instant); !known {
			average, err = s.AverageRate(ctx, averageAt)
			return costing.NewYardstick(said, average), average, err
		}
	}
	return y, nil, nil
}

// StageFilter chooses stages; the zero filter takes all.
type StageFilter struct {
	Piece id.ID
	Kind  string
	Done  *costing.Period // nil: whenever, and also those that are not
}

// StageWork reads what stages took beside their plans; wages are the accounts that bear pay.
func (s Store) StageWork(ctx context.Context, f StageFilter, wages []string) ([]costing.StageWork, error) {
	p := storedb.PlanActualsParams{Piece: someone(f.Piece), Kind: f.Kind, Wages: wages, Always: f.Done == nil}
	if f.Done != nil {
		p.Begins, p.Ends = f.Done.From, f.Done.To
	}
	rows, err := s.q.PlanActuals(ctx, p)
	out := make([]costing.StageWork, len(rows))
	for i, row := range rows {
		out[i] = costing.StageWork{
			Stage: costing.Stage{ID: row.StageID, Piece: row.PieceID, Kind: row.Kind, Key: row.Key, PartLabel: row.PartLabel, Planned: time.Duration(row.PlannedMs) * time.Millisecond,
				State: costing.StageState(row.State), DoneAt: orZero(row.DoneAt)},
			Tag: row.Tag, Title: row.Title, First: time.Duration(row.FirstMs) * time.Millisecond, Later: time.Duration(row.LaterMs) * time.Millisecond,
			Pay: money.Amount(row.Pay), Unrated: row.Unrated}
	}
	return out, err
}
