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

// The seals of weeks, of a close and of a reopening are of what was written and of each other, whatever session asks,
// and a later one changes none.
func TestStore_Digests(t *testing.T) {
	db, piece := setup(t), id.New()
	week := costing.PayLock{Monday: day(2), At: noon.Add(time.Microsecond), Actor: `Bo "the lead"`, Lines: []costing.PayLine{
		{Person: id.New(), PersonName: "Ana Ünal", Labour: time.Hour, Pay: largest, Burden: -largest}, {Person: id.New(), PersonName: "Nell\t1"}}}
	empty := costing.PayLock{Monday: day(9), At: longAgo, Actor: "Bo"}
	march := marchClose(piece)
	march.Reopened = &costing.Reopening{ID: id.New(), Reason: "a bill was missing", Actor: "Ana", At: noon.Add(time.Microsecond)}
	must(t, db, func(ctx context.Context, st store.Store) error {
		return errors.Join(st.InsertPayLock(ctx, week), st.InsertPayLock(ctx, empty), st.InsertClose(ctx, march), st.InsertReopening(ctx, march))
	})
	for _, set := range []string{"TimeZone = 'Pacific/Auckland'", "DateStyle = 'German, DMY'", "IntervalStyle = 'iso_8601'", "extra_float_digits = -15", "bytea_output = 'escape'",
		"lc_numeric = 'C'", "TimeZone = 'America/New_York'; SET LOCAL DateStyle = 'SQL, MDY'"} {
		err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			for _, stmt := range strings.Split("SET LOCAL "+set, "; ") {
				_, _ = tx.Exec(ctx, stmt)
			}
			var same, chained, lines int
			err := tx.QueryRow(ctx, `SELECT (SELECT count(*) FROM seal s JOIN sealed r USING (kind, day, id) WHERE (s.content, s.lines, s.actor) = (r.digest, r.lines, r.actor)),
				(SELECT count(*) FROM seal_chain c LEFT JOIN seal_head h USING (number) WHERE c.digest = c.comes_to AND c.missing = 0 AND (number < 4 OR h.digest = c.digest)), (SELECT sum(lines) FROM seal)`).Scan(&same, &chained, &lines)
			if same != 4 || chained != 4 || lines != 2 {
				t.Errorf("with %s %d seals are of what is there and %d of the one before, with %d lines; want 4, 4 and 2", set, same, chained, lines)
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

// digests lists the digests that were kept, in the order in which they were.
func digests(t *testing.T, db *pg.DB) (all string) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT string_agg(format('%s %s %s', lines, encode(content, 'hex'), encode(digest, 'hex')), ' ' ORDER BY number) FROM seal`).Scan(&all)
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}
