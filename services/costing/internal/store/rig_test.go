package store_test

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

const largest money.Amount = math.MaxInt64

var usd = money.Currency{Code: "USD", Digits: 2}

var (
	noon    = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	longAgo = time.Date(1999, 12, 31, 23, 59, 59, 999_999_000, time.UTC)
)

func day(d int) time.Time { return time.Date(2026, 3, d, 0, 0, 0, 0, time.UTC) }

// setup has the inbox's tables too: what is put aside there keeps a sheet provisional.
func setup(t *testing.T) *pg.DB {
	t.Helper()
	return pgtest.Open(t, "costing", nil, inbox.Migrations(), boot.Migrations(store.Migrations))
}

func inTx(t *testing.T, db *pg.DB, fn func(ctx context.Context, st store.Store) error) error {
	t.Helper()
	return db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error { return fn(ctx, store.New(tx)) })
}

// must is inTx for what has to work.
func must(t *testing.T, db *pg.DB, fn func(ctx context.Context, st store.Store) error) {
	t.Helper()
	if err := inTx(t, db, fn); err != nil {
		t.Fatal(err)
	}
}

// read gives what a reader of the store says outside a transaction.
func read[T any](t *testing.T, db *pg.DB, fn func(ctx context.Context, st store.Store) (T, error)) (got T) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		got, err = fn(t.Context(), store.New(q))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func exec(t *testing.T, db *pg.DB, sql string, args ...any) {
	t.Helper()
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, sql, args...)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// saveAt saves at an instant what fn puts into a book.
func saveAt(t *testing.T, db *pg.DB, now time.Time, fn func(b *costing.Book)) {
	t.Helper()
	b := costing.NewBook(costing.Standard())
	fn(b)
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Save(ctx, b, now) })
}

func save(t *testing.T, db *pg.DB, fn func(b *costing.Book)) {
	t.Helper()
	saveAt(t, db, noon, fn)
}

// tagged puts what intake tells of a piece into a book.
func tagged(b *costing.Book, piece id.ID, tag int32) {
	c := b.Of(piece)
	c.Origin = &costing.Origin{Tag: tag, Title: "Stool"}
}

func fact(piece id.ID) costing.Fact {
	return costing.Fact{ID: id.New(), Piece: piece, OccurredAt: noon, RecordedAt: noon}
}

// person is someone who works, with the rates that are known of them.
type person struct {
	id    id.ID
	name  string
	rates costing.Rates
	terms *costing.Terms
}

// hand makes a person and keeps their rate, if it is not below zero, from the first of
// March on.
func hand(t *testing.T, db *pg.DB, name string, perHour money.Amount) person {
	t.Helper()
	p := person{id: id.New(), name: name, terms: costing.NewTerms(nil, nil, nil)}
	if perHour >= 0 {
		r := costing.Rate{ID: id.New(), Person: p.id, Day: day(1), From: day(1), PerHour: perHour, RecordedAt: longAgo}
		must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertRate(ctx, r) })
		p.rates, p.terms = costing.NewRates([]costing.Rate{r}), costing.NewTerms([]costing.Rate{r}, nil, nil)
	}
	return p
}

var sanding = id.New()

// on is a stretch of the person's labour on the sanding of a piece, from noon on.
func (p person) on(piece id.ID, length time.Duration) costing.Stretch {
	return costing.Stretch{Fact: fact(piece), Sign: 1, Entry: id.New(), Person: p.id, PersonName: p.name,
		Stage: sanding, StageKind: "sand", StageKey: "sand-fine", PartLabel: "seat", Start: noon, End: noon.Add(length)}
}

// worked is what a sheet says of the person's labour on the sanding.
func (p person) worked(length time.Duration, cost money.Amount) costing.Work {
	return costing.Work{Person: p.id, PersonName: p.name, Stage: sanding, StageKind: "sand", StageKey: "sand-fine", PartLabel: "seat",
		Time: length, Cost: cost}
}

// clock is a clock of the person's that runs at a piece since noon; id.Nil: at none.
func (p person) clock(piece id.ID) costing.Clock {
	return costing.Clock{Entry: id.New(), Piece: piece, Person: p.id, PersonName: p.name, Start: noon}
}

// again makes it rework.
func again(w costing.Work) costing.Work {
	w.Rework = true
	return w
}

// away takes a stretch away by another event.
func away(s costing.Stretch) costing.Stretch {
	s.ID, s.Sign = id.New(), -1
	return s
}

func sheet(t *testing.T, db *pg.DB, piece id.ID) costing.Sheet {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) (costing.Sheet, error) { return st.Sheet(ctx, piece) })
}

// exact compares instants with their zone, which must be UTC.
var exact = cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) && a.Location() == b.Location() })

// same compares what was written with what was read.
func same(t *testing.T, what string, want, got any) {
	t.Helper()
	if diff := cmp.Diff(want, got, exact); diff != "" {
		t.Errorf("%s (-want +read):\n%s", what, diff)
	}
}
