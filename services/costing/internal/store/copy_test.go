package store_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
)

// busy is a week of many hands, of every kind of line and stretch.
func busy(b *costing.Book) {
	rates := []costing.Rate{{ID: nthID(1), Person: nthID(2), From: longAgo, PerHour: 2_000, RecordedAt: longAgo}}
	terms := costing.NewTerms(rates, nil, nil)
	for n := range 700 {
		s := costing.Stretch{Fact: costing.Fact{ID: nthID(1_000 + n), Piece: nthID(3), OccurredAt: noon, RecordedAt: noon.Add(time.Duration(n) * time.Microsecond)}, Sign: 1,
			Entry: nthID(5_000 + n), Person: nthID(2), PersonName: "Nell", Stage: nthID(4), StageKind: "sand", StageKey: "sand-fine", PartLabel: "№ 2",
			Start: noon, End: noon.Add(time.Hour), Rework: n%5 == 0}
		switch n % 4 {
		case 1:
			s.Piece, s.Stage, s.StageKind, s.StageKey, s.PartLabel, s.Rework, s.Indirect = id.Nil, id.Nil, "", "", "", false, "cleaning"
		case 2:
			s.Whole, s.Paused = noon.Add(-time.Hour), true
		}
		b.Work(s, terms)
		b.Settle(costing.Group{Kind: costing.Place, ID: nthID(3)}, costing.Cause{ID: nthID(9_000 + n), Event: nthID(1_000 + n), RecordedAt: noon}, nil, []costing.Dated{
			{At: noon, Line: costing.Line{Account: costing.WorkInProcess, Piece: nthID(3), Amount: money.Amount(n + 1)}},
			{At: noon, Line: costing.Line{Account: "finished_goods", Piece: nthID(3), Amount: -money.Amount(n + 1)}}})
	}
}

func nthID(n int) (i id.ID) {
	i[0], i[14], i[15] = 1, byte(n>>8), byte(n)
	return i
}

// Many rows are copied and few inserted, and it is the same rows.
func TestStore_Save_ManyAsFew(t *testing.T) {
	many, few := setup(t), setup(t)
	saveAt(t, many, noon, busy)
	whole := costing.NewBook(costing.Standard())
	busy(whole)
	for n := 0; n < len(whole.Transactions); n += 50 {
		saveAt(t, few, noon, func(b *costing.Book) { b.Transactions = whole.Transactions[n:min(n+50, len(whole.Transactions))] })
	}
	for n := 0; n < len(whole.Stretches); n += 50 {
		saveAt(t, few, noon, func(b *costing.Book) { b.Stretches = whole.Stretches[n:min(n+50, len(whole.Stretches))] })
	}
	for _, table := range []string{"posting", "stretch"} {
		got, want := dump(t, many, table), dump(t, few, table)
		if diff := cmp.Diff(want, got); diff != "" || len(got) < 700 {
			t.Errorf("%d rows of %s (-inserted +copied):\n%s", len(got), table, diff)
		}
	}
}

// dump reads all rows of a table as text.
func dump(t *testing.T, db *pg.DB, table string) (rows []string) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT array_agg(t::text ORDER BY t::text) FROM `+table+` t`).Scan(&rows)
	})
	if err != nil {
		t.Fatal(err)
	}
	return rows
}
