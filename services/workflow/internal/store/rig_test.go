package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tackfree/pkg/boot"
	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/workflow/internal/store"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var noon = time.Date(2026, 3, 2, 12, 0, 0, 123_456_000, time.UTC)

// after is an instant of the tests' day.
func after(minutes int) time.Time { return noon.Add(time.Duration(minutes) * time.Minute) }

func setup(t *testing.T) *pg.DB {
	t.Helper()
	return pgtest.Open(t, "workflow", store.Constraints, boot.Migrations(store.Migrations))
}

// work is what a test does with the store in a transaction.
type work = func(ctx context.Context, st store.Store) error

func inTx(t *testing.T, db *pg.DB, fn work) error {
	t.Helper()
	return db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error { return fn(ctx, store.New(tx)) })
}

// must is inTx for what has to work.
func must(t *testing.T, db *pg.DB, fn work) {
	t.Helper()
	if err := inTx(t, db, fn); err != nil {
		t.Fatal(err)
	}
}

func view(t *testing.T, db *pg.DB, fn work) error {
	t.Helper()
	return db.View(t.Context(), func(q pg.Querier) error { return fn(t.Context(), store.New(q)) })
}

// see is view for what has to work.
func see(t *testing.T, db *pg.DB, fn work) {
	t.Helper()
	if err := view(t, db, fn); err != nil {
		t.Fatal(err)
	}
}

// exact compares instants with their zone, which must be UTC. An empty list is none.
var exact = cmp.Options{
	cmpopts.EquateEmpty(),
	cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) && a.Location() == b.Location() }),
}

// same checks what a reader gave.
func same[T any](t *testing.T, how string, want, got T) {
	t.Helper()
	if diff := cmp.Diff(want, got, exact); diff != "" {
		t.Errorf("%s (-want +got):\n%s", how, diff)
	}
}

// refusedAtCommit checks that a write is put off, and refused when it is committed.
func refusedAtCommit(t *testing.T, db *pg.DB, kind fault.Kind, reason string, write work) *fault.Fault {
	t.Helper()
	err := inTx(t, db, func(ctx context.Context, st store.Store) error {
		if err := write(ctx, st); err != nil {
			t.Errorf("refused before the commit: %v", err)
			return err
		}
		return nil
	})
	if !fault.Is(err, reason) || !errors.Is(err, kind) {
		t.Errorf("commit = %v, want %v %s", err, kind, reason)
		return &fault.Fault{}
	}
	return fault.Of(err)
}

// inTurn locks in one transaction, starts second in another, and has the first write and
// commit only when second waits for it. It returns second's error.
func inTurn(t *testing.T, db *pg.DB, lock, write, second work) error {
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

func nothing(context.Context, store.Store) error { return nil }

// sent does a write and sends it, which was put off.
func sent(write work) work {
	return func(ctx context.Context, st store.Store) error {
		if err := write(ctx, st); err != nil {
			return err
		}
		_, err := st.ListRoutes(ctx, "", 1)
		return err
	}
}
