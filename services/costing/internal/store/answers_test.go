package store_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// standardOf is what an hour should cost from a day of March on.
func standardOf(perHour money.Amount, d int) costing.StandardRate {
	return costing.StandardRate{ID: id.New(), Day: day(d), From: day(d), PerHour: perHour, Actor: "Ana", RecordedAt: noon}
}

// A stage is done when it was said, and not any more once it is sent back; what was found is kept with it.
func TestStore_SentBack(t *testing.T) {
	db, piece := setup(t), id.New()
	stages := func() []costing.Stage {
		return read(t, db, func(ctx context.Context, st store.Store) ([]costing.Stage, error) {
			return st.Stages(ctx, []id.ID{piece})
		})
	}
	save(t, db, func(b *costing.Book) {
		f := fact(piece)
		b.PlanStages(f, []costing.Stage{{ID: sanding, Piece: piece, Kind: "sand", Planned: time.Hour, State: costing.StageOpen}})
		b.SetStages(f, costing.StageDone, sanding)
	})
	same(t, "done", []costing.Stage{{ID: sanding, Piece: piece, Kind: "sand", Planned: time.Hour, State: costing.StageDone, DoneAt: noon, Held: time.Hour}}, stages())
	back := fact(piece)
	save(t, db, func(b *costing.Book) {
		b.Recall(stages())
		b.SendBack(costing.SentBack{Fact: back, BecauseOf: sanding, Stages: []costing.Reopened{{Stage: sanding, Kind: "sand"}}})
		found := fact(piece)
		b.Inspected(costing.Inspection{Fact: found, BackTo: sanding, Defects: []string{"runs", "runs", "dust"}})
		found.ID, found.RecordedAt = id.New(), noon.Add(time.Second) // of another moment
		b.Inspected(costing.Inspection{Fact: found, BackTo: sanding, Defects: []string{"haze"}})
	})
	same(t, "sent back", []costing.Stage{{ID: sanding, Piece: piece, Kind: "sand", Planned: time.Hour, State: costing.StageOpen, SentBack: 1}}, stages())
	nell := hand(t, db, "Nell", 20_00)
	again := nell.on(piece, time.Hour)
	again.Rework = true
	save(t, db, func(b *costing.Book) { b.Work(again, nell.terms) })
	got := read(t, db, func(ctx context.Context, st store.Store) (costing.Reworked, error) {
		return st.Reworked(ctx, costing.Ever(), true)
	})
	same(t, "passes", map[id.ID][]costing.Pass{piece: {{ID: back.ID, Stage: sanding, Kind: "sand", At: noon, Defects: []string{"runs", "runs", "dust"}}}}, got.Passes)
	same(t, "spent", []costing.SpentAgain{
		{Piece: piece, Stage: sanding, StageKind: "sand", Account: "wages_payable", OccurredAt: noon.Add(time.Hour), WorkedAt: noon, Amount: 20_00},
		{Piece: piece, Stage: sanding, StageKind: "sand", OccurredAt: noon.Add(time.Hour), WorkedAt: noon, Time: time.Hour}}, got.Spent)
}

// Standard rates are kept as they were said, and read in the order in which they begin.
func TestStore_StandardRates(t *testing.T) {
	db := setup(t)
	later, first, replaced := standardOf(26_00, 9), standardOf(24_00, 2), standardOf(25_00, 2)
	replaced.RecordedAt = noon.Add(time.Microsecond)
	for _, r := range []costing.StandardRate{later, first, replaced} {
		must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertStandardRate(ctx, r) })
	}
	same(t, "by when they begin", []costing.StandardRate{first, replaced, later}, read(t, db, func(ctx context.Context, st store.Store) ([]costing.StandardRate, error) {
		return st.StandardRates(ctx)
	}))
}

// What an hour costs on average is by the hours on pieces, at the rates of an instant.
func TestStore_Yardstick(t *testing.T) {
	db, piece := setup(t), id.New()
	nell, ola, rae := hand(t, db, "Nell", 20_00), hand(t, db, "Ola", 30_00), hand(t, db, "Rae", -1)
	indirect := ola.on(id.Nil, 7*time.Hour)
	indirect.Stage, indirect.StageKind, indirect.Indirect = id.Nil, "", "cleaning"
	save(t, db, func(b *costing.Book) {
		b.Work(nell.on(piece, 3*time.Hour), nell.terms)
		b.Work(ola.on(piece, time.Hour), ola.terms)
		b.Work(rae.on(piece, time.Hour), rae.terms)
		b.Work(indirect, ola.terms)
		gone := nell.on(piece, time.Hour)
		b.Work(gone, nell.terms)
		b.Work(away(gone), nell.terms)
	})
	for at, want := range map[time.Time]money.Amount{day(20): 22_50, noon.Add(2 * time.Hour): 30_00} {
		got := read(t, db, func(ctx context.Context, st store.Store) (*money.Amount, error) {
			_, average, err := st.Yardstick(ctx, []time.Time{noon}, at)
			return average, err
		})
		if got == nil || *got != want {
			t.Errorf("Yardstick(%s) = %v, want %d", at, got, want)
		}
	}
	if got := read(t, db, func(ctx context.Context, st store.Store) (*money.Amount, error) {
		_, average, err := st.Yardstick(ctx, []time.Time{noon}, noon)
		return average, err
	}); got != nil {
		t.Errorf("before anybody worked, an hour costs %d", *got)
	}
}

// plan is how the database would answer.
func plan(t *testing.T, db *pg.DB, sql string, args ...any) string {
	t.Helper()
	var lines []string
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		if _, err := tx.Exec(ctx, `SET LOCAL enable_seqscan = off`); err != nil {
			return err
		}
		rows, err := tx.Query(ctx, `EXPLAIN `+sql, args...)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var line string
			if err := rows.Scan(&line); err != nil {
				return err
			}
			lines = append(lines, line)
		}
		return rows.Err()
	})
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(lines, "\n")
}

// What is asked of a long ledger has an index to be answered by: of a piece, of a time, of what was done again, of
// what is new.
func TestStore_AnswersHaveIndexes(t *testing.T) {
	db := setup(t)
	for sql, index := range map[string]string{
		`SELECT amount FROM posting WHERE piece_id = '00000000-0000-0000-0000-000000000001'`:                                       "posting_of_piece",
		`SELECT DISTINCT occurred_at, tx_id FROM posting WHERE occurred_at >= now() ORDER BY occurred_at, tx_id LIMIT 10`:          "posting_by_time",
		`SELECT sum(amount) FROM posting WHERE occurred_at >= now() AND occurred_at < now()`:                                       "posting_by_time",
		`SELECT sum(amount) FROM posting WHERE again AND bucket = '' AND piece_id IS NOT NULL AND occurred_at >= now() ORDER BY 1`: "posting_done_again",
		`SELECT max(position) FROM posting WHERE position >= 7`:                                                                    "posting_by_position",
		`SELECT amount FROM posting WHERE tx_id = ANY ('{00000000-0000-0000-0000-000000000001}'::uuid[])`:                          "posting_pkey",
		`SELECT entry_id FROM stretch WHERE event_id = ANY ('{00000000-0000-0000-0000-000000000001}'::uuid[])`:                     "stretch_pkey",
		`SELECT stage_id FROM sent_back WHERE piece_id = ANY ('{00000000-0000-0000-0000-000000000001}'::uuid[])`:                   "sent_back_of_piece",
		`SELECT defects FROM inspection WHERE piece_id = '00000000-0000-0000-0000-000000000001' AND recorded_at = now()`:           "inspection_of_piece",
	} {
		if got := plan(t, db, sql); !strings.Contains(got, index) {
			t.Errorf("%s is answered without %s:\n%s", sql, index, got)
		}
	}
}

// A list of lines is read in pages of any size, in one order, each line once.
func TestStore_LinesOfPiece(t *testing.T) {
	db, piece, other := setup(t), id.New(), id.New()
	nell := hand(t, db, "Nell", 20_00)
	save(t, db, func(b *costing.Book) {
		b.Name(costing.Person{ID: nell.id, Name: "Nell Ames", Version: 1})
		for n := range 5 {
			s := nell.on(piece, time.Duration(n+1)*time.Hour)
			s.OccurredAt = s.End
			b.Work(s, nell.terms)
		}
		b.Work(nell.on(other, time.Hour), nell.terms)
		b.Sell(fact(piece), 500_00, 0, 0)
	})
	lines := func(all bool, size int32) (out []string) {
		var after store.LineMark
		for {
			page := read(t, db, func(ctx context.Context, st store.Store) ([]costing.Posted, error) {
				return st.LinesOfPiece(ctx, piece, all, after, size)
			})
			for _, l := range page {
				out = append(out, fmt.Sprint(l.OccurredAt.Hour(), " ", l.Account, " ", l.Bucket, " ", l.Amount, " ", l.PersonName))
				after = store.MarkOf(l)
			}
			if len(page) < int(size) {
				return out
			}
		}
	}
	want := []string{"12 revenue revenue -50000 ", "13 work_in_process labour 2000 Nell Ames", "14 work_in_process labour 4000 Nell Ames", "15 work_in_process labour 6000 Nell Ames",
		"16 work_in_process labour 8000 Nell Ames", "17 work_in_process labour 10000 Nell Ames"}
	for size := range int32(4) {
		same(t, "lines of the sheet", want, lines(false, size+1))
	}
	if all := lines(true, 3); len(all) != 5*2+4 {
		t.Errorf("all lines = %q", all)
	}
}
