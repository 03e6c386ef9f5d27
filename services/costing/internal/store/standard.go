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
	hours, err := s.ratedHours(ctx, at)
	return costing.AverageRate(hours), err
}

func (s Store) ratedHours(ctx context.Context, at time.Time) ([]costing.RatedHours, error) {
	rows, err := s.q.RatesByHours(ctx, at)
	hours := make([]costing.RatedHours, len(rows))
	for i, row := range rows {
		hours[i] = costing.RatedHours{Person: row.PersonID, PerHour: money.Amount(row.PerHour), Time: time.Duration(row.Ms) * time.Millisecond}
	}
	return hours, err
}

// OnTop reads what an hour to come bears beside its pay, as of an instant. It looks at all labour.
func (s Store) OnTop(ctx context.Context, at time.Time) (costing.OnTop, error) {
	worked, err := s.ratedHours(ctx, at)
	if err != nil {
		return costing.OnTop{}, err
	}
	people := []id.ID{id.Nil} // what is everybody's is read with anybody's
	for _, w := range worked {
		people = append(people, w.Person)
	}
	terms, err := s.Terms(ctx, people)
	if err != nil {
		return costing.OnTop{}, err
	}
	return terms.OnTopAt(at, worked), nil
}

// StageKinds reads all kinds of stage that plans have, or had.
func (s Store) StageKinds(ctx context.Context) ([]string, error) { return s.q.StageKinds(ctx) }

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

// StageWork reads what stages took beside their plans; wages are the accounts that bear pay. It takes
// more than one statement, so what it reads is whole in a snapshot only.
func (s Store) StageWork(ctx context.Context, f StageFilter, wages []string) ([]costing.StageWork, error) {
	p := storedb.StagesForParams{Piece: someone(f.Piece), Kind: f.Kind, Always: f.Done == nil}
	if f.Done != nil {
		p.Begins, p.Ends = f.Done.From, f.Done.To
	}
	stages, err := s.q.StagesFor(ctx, p)
	if err != nil {
		return nil, err
	}
	out, at := make([]costing.StageWork, len(stages)), map[id.ID]*costing.StageWork{}
	for i, row := range stages {
		out[i] = costing.StageWork{Tag: row.Tag, Title: row.Title, Stage: costing.Stage{ID: row.StageID, Piece: row.PieceID, Kind: row.Kind, Key: row.Key,
			PartLabel: row.PartLabel, Planned: time.Duration(row.PlannedMs) * time.Millisecond, State: costing.StageState(row.State), DoneAt: orZero(row.DoneAt)}}
		at[row.StageID] = &out[i]
	}
	times, err := s.q.TimeOfStages(ctx, storedb.TimeOfStagesParams(p))
	if err != nil {
		return nil, err
	}
	for _, row := range times {
		if w := at[row.StageID]; w != nil { // not one of its piece's others
			w.First, w.Later, w.Unrated = time.Duration(row.FirstMs)*time.Millisecond, time.Duration(row.LaterMs)*time.Millisecond, row.Unrated
		}
	}
	pay, err := s.q.PayOfStages(ctx, storedb.PayOfStagesParams{Piece: p.Piece, Kind: p.Kind, Always: p.Always, Begins: p.Begins, Ends: p.Ends, Wages: wages})
	for _, row := range pay {
		if w := at[row.StageID]; w != nil {
			w.Pay = money.Amount(row.Pay)
		}
	}
	return out, err
}
