package store_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// The digests of a week and of a close are of what was written, whatever session asks, and nobody else's change them.
func TestStore_Digests(t *testing.T) {
	db, piece := setup(t), id.New()
	week := costing.PayLock{Monday: day(2), At: noon.Add(time.Microsecond), Actor: `Bo "the lead"`, Lines: []costing.PayLine{
		{Person: id.New(), PersonName: "Ana Ünal", Labour: time.Hour, Pay: largest, Burden: -largest}, {Person: id.New(), PersonName: "Nell\t1"}}}
	empty := costing.PayLock{Monday: day(9), At: longAgo, Actor: "Bo"}
	march := marchClose(piece)
	must(t, db, func(ctx context.Context, st store.Store) error {
		return errors.Join(st.InsertPayLock(ctx, week), st.InsertPayLock(ctx, empty), st.InsertClose(ctx, march))
	})
	for _, set := range []string{"TimeZone = 'Pacific/Auckland'", "DateStyle = 'German, DMY'", "IntervalStyle = 'iso_8601'", "extra_float_digits = -15", "bytea_output = 'escape'",
		"lc_numeric = 'C'", "TimeZone = 'America/New_York'; SET LOCAL DateStyle = 'SQL, MDY'"} {
		err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			for _, stmt := range strings.Split("SET LOCAL "+set, "; ") {
				_, _ = tx.Exec(ctx, stmt)
			}
			var weeks, closes, lines int
			err := tx.QueryRow(ctx, `SELECT (SELECT count(*) FROM payroll_lock l JOIN payroll_digest d USING (week) WHERE (l.lines, l.digest) = (d.lines, d.digest)),
				(SELECT count(*) FROM month_close c JOIN month_digest d ON d.close_id = c.id WHERE c.digest = d.digest), (SELECT sum(lines) FROM payroll_lock)`).Scan(&weeks, &closes, &lines)
			if weeks != 2 || closes != 1 || lines != 2 {
				t.Errorf("with %s the digests of %d weeks and %d closes are of what is there, with %d lines; want 2, 1 and 2", set, weeks, closes, lines)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	before := digests(t, db)
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.InsertPayLock(ctx, costing.PayLock{Monday: day(16), At: noon, Actor: "Bo", Lines: []costing.PayLine{{Person: id.New(), Pay: money.Amount(1)}}})
	})
	if got := digests(t, db); !strings.HasPrefix(got, before) {
		t.Errorf("digests = %s, and before the next lock %s", got, before)
	}
}

// digests lists the digests that were kept, those of weeks last and by week.
func digests(t *testing.T, db *pg.DB) (all string) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT (SELECT string_agg(encode(digest, 'hex'), ' ') FROM month_close) || (SELECT string_agg(format(' %s %s', lines, encode(digest, 'hex')), '' ORDER BY week) FROM payroll_lock)`).Scan(&all)
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}
