package pg_test

import (
	"context"
	"errors"
	"testing"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
)

func fill(t *testing.T, db *pg.DB, sql string) {
	t.Helper()
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, sql)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// left counts, on a querier, what all cans hold.
func left(t *testing.T, q pg.Querier) (n int) {
	t.Helper()
	if err := q.QueryRow(t.Context(), `SELECT coalesce(sum(litres), 0)::int FROM can`).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// What others commit between two reads is not in the second, but is in the next snapshot;
// and nobody waits for a snapshot.
func TestSnapshot_IsOfOneMoment(t *testing.T) {
	db := open(t)
	fill(t, db, `INSERT INTO can VALUES (1, 4), (2, 5)`)
	err := db.Snapshot(t.Context(), func(q pg.Querier) error {
		before := left(t, q)
		fill(t, db, `UPDATE can SET litres = litres + 1`)
		fill(t, db, `INSERT INTO can VALUES (3, 90)`)
		if after := left(t, q); before != 9 || after != 9 {
			t.Errorf("litres = %d and then %d, want 9 twice", before, after)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Snapshot(t.Context(), func(q pg.Querier) error {
		if n := left(t, q); n != 101 {
			t.Errorf("litres afterwards = %d, want 101", n)
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
}

// The moment is that of the first read, not of when the snapshot was asked for: it begins
// with that read, in one round trip.
func TestSnapshot_BeginsWithTheFirstRead(t *testing.T) {
	db := open(t)
	err := db.Snapshot(t.Context(), func(q pg.Querier) error {
		fill(t, db, `INSERT INTO can VALUES (1, 4)`)
		if n := left(t, q); n != 4 {
			t.Errorf("litres = %d, want the 4 from before the first read", n)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestSnapshot_WritesNothing(t *testing.T) {
	db := open(t)
	for name, write := range map[string]func(q pg.Querier) error{
		"Exec": func(q pg.Querier) error {
			_, err := q.Exec(t.Context(), `INSERT INTO can VALUES (1, 4)`)
			return err
		},
		"Query": func(q pg.Querier) error {
			var n int
			return q.QueryRow(t.Context(), `INSERT INTO can VALUES (1, 4) RETURNING litres`).Scan(&n)
		},
	} {
		if err := db.Snapshot(t.Context(), write); err == nil {
			t.Errorf("%s in a snapshot is not refused", name)
		}
	}
	if _, found := litres(t, db, 1); found {
		t.Error("a snapshot wrote a row")
	}
}

// However a snapshot ends, its connection serves the next one and no transaction stays open.
func TestSnapshot_LeavesNoTransactionOpen(t *testing.T) {
	db, boom := open(t), errors.New("boom")
	shelved := fault.New(fault.NotFound, "CAN_NOT_FOUND", "There is no such can.")
	for name, c := range map[string]struct {
		read func(ctx context.Context, cancel func(), q pg.Querier) error
		want error
	}{
		"ReadsNothing": {func(context.Context, func(), pg.Querier) error { return nil }, nil},
		"Reads":        {func(_ context.Context, _ func(), q pg.Querier) error { left(t, q); return nil }, nil},
		"Fails":        {func(_ context.Context, _ func(), q pg.Querier) error { left(t, q); return boom }, boom},
		"Refuses":      {func(_ context.Context, _ func(), q pg.Querier) error { left(t, q); return shelved }, shelved},
		"FindsNothing": {func(ctx context.Context, _ func(), q pg.Querier) error {
			var n int
			return q.QueryRow(ctx, `SELECT litres FROM can WHERE id = 7`).Scan(&n)
		}, pgx.ErrNoRows},
		"CallerGoesAway": {func(ctx context.Context, cancel func(), q pg.Querier) error {
			left(t, q)
			cancel()
			return ctx.Err()
		}, context.Canceled},
	} {
		t.Run(name, func(t *testing.T) {
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			before := backend(t, db)
			err := db.Snapshot(ctx, func(q pg.Querier) error { return c.read(ctx, cancel, q) })
			if !errors.Is(err, c.want) {
				t.Errorf("Snapshot = %v, want %v", err, c.want)
			}
			if n := inTransaction(t, db); n != 0 {
				t.Errorf("%d transactions open", n)
			}
			if after := backend(t, db); after != before {
				t.Errorf("the connection is %d and was %d, want it kept", after, before)
			}
		})
	}
}

// backend names the connection that the next read goes over.
func backend(t *testing.T, db *pg.DB) (pid int) {
	t.Helper()
	err := db.Snapshot(t.Context(), func(q pg.Querier) error { return q.QueryRow(t.Context(), `SELECT pg_backend_pid()`).Scan(&pid) })
	if err != nil {
		t.Fatal(err)
	}
	return pid
}

// inTransaction counts the connections that idle in a transaction.
func inTransaction(t *testing.T, db *pg.DB) (n int) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND state LIKE 'idle in tr%'`).Scan(&n)
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestSnapshot_DatabaseAwayIsUnavailable(t *testing.T) {
	db, err := pg.Open(t.Context(), pg.Config{URL: "postgres://nobody@127.0.0.1:1/none?connect_timeout=1"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	err = db.Snapshot(t.Context(), func(q pg.Querier) error { return q.QueryRow(t.Context(), `SELECT 1`).Scan(new(int)) })
	if !fault.Is(err, "DATABASE_UNAVAILABLE") {
		t.Errorf("Snapshot = %v, want DATABASE_UNAVAILABLE", err)
	}
}
