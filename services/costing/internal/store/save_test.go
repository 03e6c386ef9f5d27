package store_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// row is a ledger line as it stands in its table.
type row struct {
	Tx                     id.ID
	Line                   int16
	Event                  id.ID
	Account, Bucket        string
	Piece, Person, Stage   uuid.NullUUID
	StageKind              string
	Amount                 int64
	OccurredAt, RecordedAt time.Time
}

func postings(t *testing.T, db *pg.DB) (all []row) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		rows, err := q.Query(t.Context(), `
			SELECT tx_id, line, event_id, account, bucket, piece_id, person_id, stage_id, stage_kind, amount, occurred_at, recorded_at
			FROM posting ORDER BY tx_id, line`)
		if err != nil {
			return err
		}
		all, err = pgx.CollectRows(rows, pgx.RowToStructByPos[row])
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func costs(t *testing.T, db *pg.DB, pieces ...id.ID) []costing.Cost {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) ([]costing.Cost, error) { return st.Costs(ctx, pieces) })
}

// Every line is written at its place, the largest amounts too, and where a line is about
// no piece, no stage or nobody's labour the ledger says so with NULL.
func TestStore_Save_Transactions(t *testing.T) {
	db := setup(t)
	piece, nell, stage := uuid.NullUUID{UUID: id.New(), Valid: true}, uuid.NullUUID{UUID: id.New(), Valid: true}, uuid.NullUUID{UUID: id.New(), Valid: true}
	labour := costing.Transaction{ID: id.New(), Event: id.New(), OccurredAt: longAgo, RecordedAt: noon, Lines: []costing.Line{
		{Account: costing.WorkInProcess, Bucket: costing.Labour, Piece: piece.UUID, Person: nell.UUID, Stage: stage.UUID, StageKind: `"fill", 'sand' № 2`, Amount: largest},
		{Account: costing.WagesPayable, Piece: piece.UUID, Person: nell.UUID, Amount: -largest}}}
	receipt := costing.Transaction{ID: id.New(), Event: id.New(), OccurredAt: noon, RecordedAt: noon.Add(time.Microsecond), Lines: []costing.Line{
		{Account: "materials_on_hand", Amount: 19_99},
		{Account: "cash_clearing", Amount: -19_98},
		{Account: "cash_clearing", Amount: -1}}}
	save(t, db, func(b *costing.Book) { b.Transactions = []costing.Transaction{labour, receipt} })
	none, early, late := uuid.NullUUID{}, labour, receipt
	same(t, "ledger", []row{
		{early.ID, 1, early.Event, "work_in_process", "labour", piece, nell, stage, `"fill", 'sand' № 2`, int64(largest), longAgo, noon},
		{early.ID, 2, early.Event, "wages_payable", "", piece, nell, none, "", -int64(largest), longAgo, noon},
		{late.ID, 1, late.Event, "materials_on_hand", "", none, none, none, "", 19_99, noon, noon.Add(time.Microsecond)},
		{late.ID, 2, late.Event, "cash_clearing", "", none, none, none, "", -19_98, noon, noon.Add(time.Microsecond)},
		{late.ID, 3, late.Event, "cash_clearing", "", none, none, none, "", -1, noon, noon.Add(time.Microsecond)},
	}, postings(t, db))
	want := []costing.Cost{{Piece: piece.UUID, Account: costing.WorkInProcess, OccurredAt: longAgo, Amount: largest}}
	same(t, "Costs", want, costs(t, db, piece.UUID))
	same(t, "Costs of no piece", []costing.Cost{}, costs(t, db, id.Nil))
}

// A correction is one event that takes a stretch away and adds another.
func TestStore_Save_Stretches(t *testing.T) {
	db := setup(t)
	event, nell := id.New(), id.New()
	added := costing.Stretch{
		Fact: costing.Fact{ID: event, Piece: id.New(), OccurredAt: longAgo, RecordedAt: noon.Add(time.Microsecond)},
		Sign: 1, Entry: id.New(), Person: nell, PersonName: strings.Repeat("Näll 'Jr' ", 20),
		Stage: id.New(), StageKind: "clear_coat", StageKey: "clear-2", PartLabel: `"drawer", left`, Rework: true,
		Start: longAgo, End: noon, Whole: longAgo.Add(-time.Microsecond)}
	taken := costing.Stretch{
		Fact: costing.Fact{ID: event, Piece: id.New(), OccurredAt: noon, RecordedAt: longAgo},
		Sign: -1, Entry: id.New(), Person: nell, Start: noon, End: time.Date(9999, 12, 31, 23, 59, 59, 999_999_000, time.UTC)}
	cleaning := costing.Stretch{
		Fact: costing.Fact{ID: id.New(), OccurredAt: noon, RecordedAt: noon}, Sign: 1, Entry: id.New(), Person: nell, PersonName: "Nell",
		Indirect: "cleaning", Start: longAgo, End: noon}
	save(t, db, func(b *costing.Book) { b.Stretches = []costing.Stretch{added, cleaning, taken} })
	got := stretchesAfter(t, db, nell, longAgo)
	same(t, "stretches", []costing.Stretch{taken, added, cleaning}, got)
}

func TestStore_Save_Marks(t *testing.T) {
	db := setup(t)
	piece := id.New()
	want := []costing.Mark{
		{Fact: costing.Fact{ID: id.New(), Piece: piece, OccurredAt: longAgo, RecordedAt: noon}, Kind: costing.MarkSold},
		{Fact: costing.Fact{ID: id.New(), Piece: piece, OccurredAt: noon, RecordedAt: longAgo}, Kind: costing.MarkReturned},
		{Fact: fact(piece), Kind: costing.MarkScrapped},
	}
	save(t, db, func(b *costing.Book) { b.Marks = []costing.Mark{want[2], want[0], want[1]} })
	same(t, "marks", want, marks(t, db, piece))
}

// A book in which nothing happened leaves everything as it was.
func TestStore_Save_Nothing(t *testing.T) {
	db := setup(t)
	piece := id.New()
	save(t, db, func(b *costing.Book) { tagged(b, piece, 7) })
	want := sheet(t, db, piece)
	saveAt(t, db, noon.Add(time.Hour), func(*costing.Book) {})
	same(t, "sheet", want, sheet(t, db, piece))
}

// Nothing is booked a second time: a book that was saved is refused as a whole, whatever
// it holds.
func TestStore_Save_Twice(t *testing.T) {
	piece := id.New()
	stretch := person{id: id.New(), name: "Nell"}.on(piece, time.Hour)
	for constraint, put := range map[string]func(b *costing.Book){
		"posting_pkey": func(b *costing.Book) { b.TakeIn(fact(piece), 45_50) },
		"stretch_pkey": func(b *costing.Book) { b.Stretches = []costing.Stretch{stretch} },
		"mark_pkey":    func(b *costing.Book) { b.Marks = []costing.Mark{{Fact: fact(piece), Kind: costing.MarkSold}} },
	} {
		t.Run(constraint, func(t *testing.T) {
			db, b := setup(t), costing.NewBook(costing.Standard())
			tagged(b, piece, 7)
			put(b)
			must(t, db, func(ctx context.Context, st store.Store) error { return st.Save(ctx, b, noon) })
			want, lines := sheet(t, db, piece), postings(t, db)
			err := inTx(t, db, func(ctx context.Context, st store.Store) error { return st.Save(ctx, b, noon.Add(time.Hour)) })
			if !pg.Violates(err, constraint) {
				t.Errorf("Save of a book again = %v, want %s", err, constraint)
			}
			same(t, "sheet", want, sheet(t, db, piece))
			same(t, "ledger", lines, postings(t, db))
		})
	}
}
