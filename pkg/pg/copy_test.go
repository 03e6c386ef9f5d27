package pg_test

import (
	"context"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/uuid"

	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
)

var crates = pg.Migrations{Name: "crates", Files: fstest.MapFS{"00001_crate.sql": {Data: []byte(`-- +goose Up
CREATE TABLE crate (n bigint PRIMARY KEY CONSTRAINT crate_counts CHECK (n > 0), id uuid, mark text NOT NULL, side smallint NOT NULL, full_up boolean NOT NULL, packed timestamptz);`)}}}

var columns = []string{"n", "id", "mark", "side", "full_up", "packed"}

// crate puts a row down.
func crate(r *pg.Rows, n int64, i uuid.UUID, mark string, side int16, full bool, packed time.Time) {
	r.Row(len(columns))
	r.Big(n)
	r.IDOrNull(i)
	r.Text(mark)
	r.Small(side)
	r.Bool(full)
	if packed.IsZero() {
		r.Null()
		return
	}
	r.Instant(packed)
}

// Every type arrives as it was, and in the order of the transaction: after what was put off before it.
func TestTx_Copy(t *testing.T) {
	db := pgtest.Open(t, "shelf", nil, crates)
	i := uuid.Must(uuid.NewV7())
	before := time.Date(1969, time.July, 20, 20, 17, 40, 123_456_789, time.FixedZone("", 3600))
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `INSERT INTO crate VALUES (1, NULL, 'old', 0, false, NULL)`)
		_, _ = tx.Exec(ctx, `UPDATE crate SET n = 9`)
		var rows pg.Rows
		crate(&rows, 1, i, `№ 2, "fragile"`, -3, true, before)
		crate(&rows, 1<<60, uuid.Nil, "", 4, false, time.Time{})
		if err := tx.Copy(ctx, "crate", columns, &rows); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `DELETE FROM crate WHERE mark = 'old'`)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	var got string
	err = db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT string_agg(concat_ws('|', n, id, mark, side, full_up, packed), E'\n' ORDER BY n) FROM crate`).Scan(&got)
	})
	want := "1|" + i.String() + "|№ 2, \"fragile\"|-3|t|1969-07-20 19:17:40.123456+00\n1152921504606846976||4|f"
	if err != nil || got != want {
		t.Errorf("the table holds %q, %v, want %q", got, err, want)
	}
}

// A row that the table refuses undoes all of the transaction, and its constraint is named.
func TestTx_Copy_Refused(t *testing.T) {
	counts := fault.New(fault.Invalid, "NOT_A_NUMBER", "It does not count.")
	db := pgtest.Open(t, "shelf", pg.Constraints{"crate_counts": counts}, crates)
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		var rows pg.Rows
		crate(&rows, 1, uuid.Nil, "", 0, true, time.Now())
		crate(&rows, 0, uuid.Nil, "", 0, true, time.Now())
		return tx.Copy(ctx, "crate", columns, &rows)
	})
	if !fault.Is(err, "NOT_A_NUMBER") {
		t.Errorf("Copy = %v, want NOT_A_NUMBER", err)
	}
	err = db.Snapshot(t.Context(), func(q pg.Querier) error {
		var n int
		if err := q.QueryRow(t.Context(), `SELECT count(*) FROM crate`).Scan(&n); err != nil || n != 0 {
			t.Errorf("%d rows are there, %v, want none", n, err)
		}
		return q.(interface {
			Copy(context.Context, string, []string, *pg.Rows) error
		}).Copy(t.Context(), "crate", columns, &pg.Rows{})
	})
	if err == nil {
		t.Error("a snapshot writes")
	}
}
