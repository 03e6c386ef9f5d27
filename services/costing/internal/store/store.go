// Package store keeps the books in Postgres. Row types never leave it.
//
// Its statements name no schema: they find the live tables through the service's search
// path, or the shadow tables of a rebuild through that one's.
package store

import (
	"context"
	"embed"
	"time"

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
type Store struct {
	q    *storedb.Queries
	many copier // nil where nothing is written
	view *View  // nil: of sheets it is not said in which weeks their overtime is open
}

// New makes a store over a transaction, a snapshot or a view.
func New(q pg.Querier) Store {
	many, _ := q.(copier)
	return Store{storedb.New(q), many, nil}
}

// ListRates reads up to limit rates with a higher id, of one person or of all (id.Nil).
func (s Store) ListRates(ctx context.Context, person, after id.ID, limit int32) ([]costing.Rate, error) {
	rows, err := s.q.ListRates(ctx, storedb.ListRatesParams{
		Person: someone(person), After: after, PageLimit: limit})
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

// RateFrom reads the rate that a person has from a day on, as it was last recorded; false: none.
func (s Store) RateFrom(ctx context.Context, person id.ID, day time.Time) (r costing.Rate, found bool, err error) {
	rows, err := s.q.RateFrom(ctx, storedb.RateFromParams{Person: person, Day: day})
	if err != nil || len(rows) == 0 {
		return r, false, err
	}
	return fromRate(rows[0]), true, nil
}

// LastRecorded is when the newest term of anybody, or the newest stretch of a person, was recorded;
// id.Nil: of anybody.
func (s Store) LastRecorded(ctx context.Context, person id.ID) (time.Time, error) {
	return s.q.LastRecorded(ctx, someone(person))
}

func fromRate(row storedb.PayRate) costing.Rate {
	return costing.Rate{ID: row.ID, Person: row.PersonID, Day: row.EffectiveDay, From: row.EffectiveAt,
		PerHour: money.Amount(row.PerHour), Actor: row.Actor, RecordedAt: row.RecordedAt}
}
