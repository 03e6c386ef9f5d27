package store_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/quantity"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var noon = time.Date(2026, 3, 2, 12, 0, 0, 123_456_000, time.UTC)

func setup(t *testing.T) *pg.DB {
	t.Helper()
	return pgtest.Open(t, "intake", store.Constraints, boot.Migrations(store.Migrations))
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

func view(t *testing.T, db *pg.DB, fn func(ctx context.Context, st store.Store) error) error {
	t.Helper()
	return db.View(t.Context(), func(q pg.Querier) error { return fn(t.Context(), store.New(q)) })
}

// stool is a piece with nothing to it but what every one has.
func stool(tag int32) intake.Piece {
	return intake.Piece{ID: id.New(), Tag: tag, Title: "Stool", Kind: "stool", State: intake.InHand, TakenInAt: noon, Version: 1,
		Purchase: &intake.Purchase{Price: 1_00, Source: "kerb", Day: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)},
		Parts:    []intake.Part{{ID: id.New(), Label: "seat", Count: 1}}}
}

// keep inserts pieces as they are.
func keep(t *testing.T, db *pg.DB, pieces ...intake.Piece) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, p := range pieces {
			if err := st.Insert(ctx, p); err != nil {
				return err
			}
		}
		return nil
	})
}

func get(t *testing.T, db *pg.DB, piece id.ID) (p intake.Piece) {
	t.Helper()
	err := view(t, db, func(ctx context.Context, st store.Store) (err error) {
		p, err = st.Get(ctx, piece)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// exact compares amounts by value and instants with their zone, which must be UTC.
var exact = cmp.Options{
	cmp.Comparer(func(a, b decimal.Decimal) bool { return a.Equal(b) }),
	cmp.Comparer(func(a, b quantity.Unit) bool { return a.Symbol == b.Symbol && a.Measure == b.Measure }),
	cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) && a.Location() == b.Location() }),
}

// inTurn locks in one transaction, starts second in another, and has the first write and
// commit only when second waits for it. It returns second's error.
func inTurn(t *testing.T, db *pg.DB, lock, write, second func(ctx context.Context, st store.Store) error) error {
	t.Helper()
	done := make(chan error, 1)
	must(t, db, func(ctx context.Context, st store.Store) error {
		if err := lock(ctx, st); err != nil {
			return err
		}
		go func() { done <- inTx(t, db, second) }()
		pgtest.UntilOneWaits(t, db)
		return write(ctx, st)
	})
	return <-done
}
