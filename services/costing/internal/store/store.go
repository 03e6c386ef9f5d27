// Package store keeps the books in Postgres. Row types never leave it.
//
// Its statements name no schema: they find the live tables through the service's search
// path, or the shadow tables of a rebuild through that one's.
package store

import (
	"context"
	"embed"
	"time"

	"github.com/google/uuid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// Migrations are the service's own tables.
//
//go:embed migrations/*.sql
var Migrations embed.FS

// Store reads and writes in one transaction, or reads outside one.
type Store struct{ q *storedb.Queries }

// New makes a store over a transaction, a snapshot or a view.
func New(q pg.Querier) Store { return Store{storedb.New(q)} }

// Rates reads all rates of some people.
func (s Store) Rates(ctx context.Context, people []id.ID) (costing.Rates, error) {
	if len(people) == 0 {
		return costing.Rates{}, nil
	}
	rows, err := s.q.RatesOf(ctx, people)
	if err != nil {
		return nil, err
	}
	list := make([]costing.Rate, len(rows))
	for i, row := range rows {
		list[i] = fromRate(row)
	}
	return costing.NewRates(list), nil
}

// ListRates reads up to limit rates with a higher id, of one person or of all (id.Nil).
func (s Store) ListRates(ctx context.Context, person, after id.ID, limit int32) ([]costing.Rate, error) {
	rows, err := s.q.ListRates(ctx, storedb.ListRatesParams{
		Person: uuid.NullUUID{UUID: person, Valid: person != id.Nil}, After: after, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	list := make([]costing.Rate, len(rows))
	for i, row := range rows {
		list[i] = fromRate(row)
	}
	return list, nil
}

// InsertRate writes a new rate.
func (s Store) InsertRate(ctx context.Context, r costing.Rate) error {
	return s.q.InsertRate(ctx, storedb.InsertRateParams{ID: r.ID, PersonID: r.Person, EffectiveDay: r.Day, EffectiveAt: r.From,
		PerHour: int64(r.PerHour), Actor: r.Actor, RecordedAt: r.RecordedAt})
}

// LastRecorded is when the newest rate or stretch of a person was recorded.
func (s Store) LastRecorded(ctx context.Context, person id.ID) (time.Time, error) {
	return s.q.LastRecorded(ctx, person)
}

func fromRate(row storedb.PayRate) costing.Rate {
	return costing.Rate{ID: row.ID, Person: row.PersonID, Day: row.EffectiveDay, From: row.EffectiveAt,
		PerHour: money.Amount(row.PerHour), Actor: row.Actor, RecordedAt: row.RecordedAt}
}

// StretchesAfter reads a person's stretches that end after an instant.
func (s Store) StretchesAfter(ctx context.Context, person id.ID, after time.Time) ([]costing.Stretch, error) {
	rows, err := s.q.StretchesAfter(ctx, storedb.StretchesAfterParams{Person: person, After: after})
	if err != nil {
		return nil, err
	}
	list := make([]costing.Stretch, len(rows))
	for i, row := range rows {
		list[i] = costing.Stretch{
			Fact: costing.Fact{ID: row.EventID, Piece: row.PieceID.UUID, OccurredAt: row.OccurredAt, RecordedAt: row.RecordedAt},
			Sign: int64(row.Sign), Entry: row.EntryID, Person: row.PersonID, PersonName: row.PersonName,
			Stage: row.StageID.UUID, StageKind: row.StageKind, StageKey: row.StageKey, PartLabel: row.PartLabel,
			Rework: row.Rework, Indirect: row.Indirect, Start: row.StartedAt, End: row.EndedAt, Whole: orZero(row.WholeFrom),
		}
	}
	return list, nil
}

// Marks reads the sales, returns and scraps of pieces.
func (s Store) Marks(ctx context.Context, pieces []id.ID) ([]costing.Mark, error) {
	rows, err := s.q.MarksOf(ctx, pieces)
	if err != nil {
		return nil, err
	}
	marks := make([]costing.Mark, len(rows))
	for i, row := range rows {
		marks[i] = costing.Mark{Kind: costing.MarkKind(row.Kind), Fact: costing.Fact{
			ID: row.EventID, Piece: row.PieceID, OccurredAt: row.OccurredAt, RecordedAt: row.RecordedAt}}
	}
	return marks, nil
}

// Costs reads what has gone into work in process of pieces.
func (s Store) Costs(ctx context.Context, pieces []id.ID) ([]costing.Cost, error) {
	rows, err := s.q.CostsOf(ctx, pieces)
	if err != nil {
		return nil, err
	}
	costs := make([]costing.Cost, len(rows))
	for i, row := range rows {
		costs[i] = costing.Cost{Tx: row.TxID, Piece: row.PieceID, OccurredAt: row.OccurredAt, RecordedAt: row.RecordedAt, Amount: money.Amount(row.Amount)}
	}
	return costs, nil
}
