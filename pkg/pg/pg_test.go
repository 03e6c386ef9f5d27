package pg_test

import (
	"context"
	"errors"
	"testing"
	"testing/fstest"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var cans = pg.Migrations{Name: "cans", Files: fstest.MapFS{"00001_can.sql": {Data: []byte(`-- +goose Up
CREATE TABLE can (id int PRIMARY KEY, litres int NOT NULL CONSTRAINT can_never_below_zero CHECK (litres >= 0));`)}}}

var belowZero = fault.New(fault.Precondition, "STOCK_TOO_SMALL", "There is not that much left.")

func open(t *testing.T) *pg.DB {
	return pgtest.Open(t, "shelf", pg.Constraints{"can_never_below_zero": belowZero}, cans)
}

func litres(t *testing.T, db *pg.DB, can int) (n int, found bool) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT litres FROM can WHERE id = $1`, can).Scan(&n)
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, false
	}
	if err != nil {
		t.Fatal(err)
	}
	return n, true
}

func TestInTx_CommitsWhatWasPutOff(t *testing.T) {
	db := open(t)
	var told bool
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `INSERT INTO can VALUES (1, 4)`)
		var n int
		if err := tx.QueryRow(ctx, `SELECT litres FROM can WHERE id = 1 FOR UPDATE`).Scan(&n); err != nil {
			return err
		}
		tx.After(func() { told = true })
		_, err := tx.Exec(ctx, `UPDATE can SET litres = $1 WHERE id = 1`, n-1)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if n, _ := litres(t, db, 1); n != 3 || !told {
		t.Errorf("litres = %d, told = %v, want 3 and true", n, told)
	}
}

func TestInTx_UndoesEverythingOnAnError(t *testing.T) {
	db := open(t)
	boom := errors.New("boom")
	var told bool
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		tx.After(func() { told = true })
		_, _ = tx.Exec(ctx, `INSERT INTO can VALUES (1, 4)`)
		rows, err := tx.Query(ctx, `SELECT 1`)
		if err != nil {
			return err
		}
		rows.Close()
		return boom
	})
	if !errors.Is(err, boom) || told {
		t.Errorf("InTx = %v, told = %v, want boom and false", err, told)
	}
	if _, found := litres(t, db, 1); found {
		t.Error("the row is there after a rollback")
	}
}

func TestInTx_ConstraintBecomesItsFault(t *testing.T) {
	db := open(t)
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `INSERT INTO can VALUES (1, 4)`)
		_, err := tx.Exec(ctx, `INSERT INTO can VALUES (2, -1)`)
		return err
	})
	if !fault.Is(err, "STOCK_TOO_SMALL") || !errors.Is(err, fault.Precondition) {
		t.Errorf("InTx = %v, want STOCK_TOO_SMALL", err)
	}
	if _, found := litres(t, db, 1); found {
		t.Error("the first insert stayed")
	}
}

// An error of a statement that was put off shows at the next read, and the rest of the
// round trip is not done.
func TestInTx_PutOffErrorShowsAtTheRead(t *testing.T) {
	db := open(t)
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `INSERT INTO can VALUES (2, -1)`)
		var n int
		return tx.QueryRow(ctx, `SELECT 1`).Scan(&n)
	})
	if !fault.Is(err, "STOCK_TOO_SMALL") {
		t.Errorf("InTx = %v, want STOCK_TOO_SMALL", err)
	}
}

func TestInTx_TriesAgainAfterADeadlock(t *testing.T) {
	db := open(t)
	insert := func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, `INSERT INTO can VALUES (1, 0), (2, 0)`)
		return err
	}
	if err := db.InTx(t.Context(), insert); err != nil {
		t.Fatal(err)
	}
	both := make(chan struct{}, 2)
	cross := func(first, second int) error {
		tries := 0
		return db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			var n int
			if err := tx.QueryRow(ctx, `UPDATE can SET litres = litres + 1 WHERE id = $1 RETURNING litres`, first).Scan(&n); err != nil {
				return err
			}
			if tries++; tries == 1 { // both hold their first can before either asks for its second
				both <- struct{}{}
				for len(both) < 2 {
					time.Sleep(time.Millisecond)
				}
			}
			return tx.QueryRow(ctx, `UPDATE can SET litres = litres + 1 WHERE id = $1 RETURNING litres`, second).Scan(&n)
		})
	}
	done := make(chan error, 2)
	go func() { done <- cross(1, 2) }()
	go func() { done <- cross(2, 1) }()
	for range 2 {
		if err := <-done; err != nil {
			t.Errorf("crossing updates: %v", err)
		}
	}
	if n, _ := litres(t, db, 1); n != 2 {
		t.Errorf("litres = %d after two crossing updates, want 2", n)
	}
}

func TestInTx_CancelledCallerLeavesNoTransactionOpen(t *testing.T) {
	db := open(t)
	ctx, cancel := context.WithCancel(t.Context())
	err := db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `INSERT INTO can VALUES (1, 4)`)
		var n int
		if err := tx.QueryRow(ctx, `SELECT 1`).Scan(&n); err != nil {
			return err
		}
		cancel()
		return ctx.Err()
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("InTx = %v, want context.Canceled", err)
	}
	if n := inTransaction(t, db); n != 0 {
		t.Errorf("%d transactions open, want none", n)
	}
}

func TestView_DatabaseAwayIsUnavailable(t *testing.T) {
	db, err := pg.Open(t.Context(), pg.Config{URL: "postgres://nobody@127.0.0.1:1/none?connect_timeout=1"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := db.Ping(t.Context()); !fault.Is(err, "DATABASE_UNAVAILABLE") {
		t.Errorf("Ping = %v, want DATABASE_UNAVAILABLE", err)
	}
}

func TestMigrate_FiveStartingAtOnce(t *testing.T) {
	c := pgtest.Config(t, "rack")
	done := make(chan error, 5)
	for range 5 {
		go func() { done <- pg.Migrate(t.Context(), c, cans) }()
	}
	for range 5 {
		if err := <-done; err != nil {
			t.Errorf("Migrate: %v", err)
		}
	}
}

// A schema is current for who knows no newer files than it has, and not for who does.
func TestCurrent(t *testing.T) {
	db := pgtest.Open(t, "rack", nil, cans)
	newer := pg.Migrations{Name: cans.Name, Files: fstest.MapFS{"00001_can.sql": {}, "00007_lid.sql": {}}}
	other := pg.Migrations{Name: "lids", Files: cans.Files}
	for _, c := range []struct {
		what string
		sets []pg.Migrations
		want bool
	}{
		{"its own", []pg.Migrations{cans}, true},
		{"an older program's", []pg.Migrations{{Name: cans.Name, Files: fstest.MapFS{}}}, true},
		{"a newer program's", []pg.Migrations{newer}, false},
		{"a set that it never had", []pg.Migrations{cans, other}, false},
	} {
		if got, err := db.Current(t.Context(), c.sets...); err != nil || got != c.want {
			t.Errorf("%s: Current = %t, %v; want %t", c.what, got, err, c.want)
		}
	}
}

func TestProvision_ARoleReadsNoOthersSchema(t *testing.T) {
	admin := pgtest.Empty(t)
	passwords := map[string]string{"intake": "one'two", "sales": "three"}
	urls, err := pg.Provision(t.Context(), admin, "provtest_", passwords)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := pg.Provision(t.Context(), admin, "provtest_", passwords); err != nil {
		t.Fatalf("again: %v", err)
	}
	sets := cans
	for service, url := range urls {
		if err := pg.Migrate(t.Context(), pg.Config{URL: url, Schema: service}, sets); err != nil {
			t.Fatalf("migrate as %s: %v", service, err)
		}
	}
	conn, err := pgx.Connect(t.Context(), urls["sales"])
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(context.WithoutCancel(t.Context())) }()
	if _, err := conn.Exec(t.Context(), `SELECT * FROM sales.can`); err != nil {
		t.Errorf("sales cannot read its own table: %v", err)
	}
	for _, forbidden := range []string{`SELECT * FROM intake.can`, `CREATE TABLE intake.x ()`, `CREATE TABLE public.x ()`} {
		if _, err := conn.Exec(t.Context(), forbidden); err == nil {
			t.Errorf("sales may do %q", forbidden)
		}
	}
}
