package store_test

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

func list(t *testing.T, db *pg.DB, after store.Mark, limit int32) []costing.Sheet {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) ([]costing.Sheet, error) {
		return st.Sheets(ctx, after, limit)
	})
}

// A piece from purchase to sale, with rework, reads the same alone and in the list.
func TestStore_Sheet(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", 18_00)
	anew := nell.on(piece, 40*time.Minute)
	anew.Rework = true
	save(t, db, func(b *costing.Book) {
		tagged(b, piece, 9_999_999)
		b.TakeIn(fact(piece), 45_50)
		b.Work(nell.on(piece, 90*time.Minute), nell.terms)
		b.Work(anew, nell.terms)
		b.Issue(fact(piece), 12_50, "prime", false)
		b.Issue(fact(piece), 3_00, "prime", true)
		b.Bill(fact(piece), 80_00, false)
		b.Bill(fact(piece), 9_00, true)
		b.Sell(fact(piece), 300_00, 24_00, 15_00)
		b.Of(piece).Sales = new(costing.Sold)
		b.Begin(nell.clock(piece))
	})
	const labour, rework = 18_00 * 90 / 60, 18_00 * 40 / 60
	want := costing.Sheet{
		Piece: piece, Origin: costing.Origin{Tag: 9_999_999, Title: "Stool"}, Sales: costing.Sold, Running: 1, AtWork: 1, Revision: 1, UpdatedAt: noon,
		Sums: costing.Sums{Acquisition: 45_50, Labour: labour, Material: 12_50, Outside: 80_00, Rework: rework + 3_00 + 9_00, Fees: 15_00, Revenue: 300_00, Tax: 24_00,
			LabourTime: 90 * time.Minute, ReworkTime: 40 * time.Minute},
		Work: []costing.Work{
			nell.worked(90*time.Minute, labour),
			again(nell.worked(40*time.Minute, rework))},
	}
	same(t, "Sheet", want, sheet(t, db, piece))
	same(t, "Sheets", []costing.Sheet{want}, list(t, db, store.Mark{}, 10))
}

func TestStore_Sheet_NotFound(t *testing.T) {
	db, piece := setup(t), id.New()
	save(t, db, func(b *costing.Book) { tagged(b, piece, 7) })
	err := inTx(t, db, func(ctx context.Context, st store.Store) error { _, err := st.Sheet(ctx, id.New()); return err })
	if !fault.Is(err, "PIECE_NOT_FOUND") || !errors.Is(err, fault.NotFound) || fault.Of(err).Fields[0].Path != "piece" {
		t.Errorf("Sheet of another piece = %v, want PIECE_NOT_FOUND at piece", err)
	}
}

// pieces keeps sheets with the tags given, those of the newest ids first.
func pieces(t *testing.T, db *pg.DB, tags ...int32) {
	t.Helper()
	ids := make([]id.ID, len(tags))
	for n := range ids {
		ids[n] = id.New()
	}
	for n, tag := range slices.Backward(tags) {
		save(t, db, func(b *costing.Book) { tagged(b, ids[n], tag) })
	}
}

func byTag(t *testing.T, db *pg.DB) func(last costing.Sheet, limit int32) []costing.Sheet {
	return func(last costing.Sheet, limit int32) []costing.Sheet {
		t.Helper()
		return list(t, db, store.Mark{Tag: last.Tag, Piece: last.Piece}, limit)
	}
}

func tags(sheets []costing.Sheet) (tags []int32) {
	for _, s := range sheets {
		tags = append(tags, s.Tag)
	}
	return tags
}

// Pieces of which intake has told nothing yet have no tag; they come first, by their ids.
func TestStore_Sheets(t *testing.T) {
	db := setup(t)
	if got := list(t, db, store.Mark{}, 10); len(got) != 0 {
		t.Errorf("Sheets of empty books = %+v", got)
	}
	pieces(t, db, 40, 0, 10, 30, 0, 9_999_999, 0, 20)
	want := []int32{0, 0, 0, 10, 20, 30, 40, 9_999_999}
	for size := range int32(9) {
		got := pgtest.TurnPages(t, size+1, byTag(t, db), nil)
		same(t, "tags", want, tags(got))
		for n, s := range got {
			same(t, "sheet", sheet(t, db, s.Piece), s)
			if n > 0 && s.Tag == got[n-1].Tag && slices.Compare(got[n-1].Piece[:], s.Piece[:]) >= 0 {
				t.Errorf("in pages of %d the pieces with tag %d come in another order than that of their ids", size+1, s.Tag)
			}
		}
	}
	if got := list(t, db, store.Mark{}, 0); len(got) != 0 {
		t.Errorf("a page of none = %+v", got)
	}
}

// A piece that comes in meanwhile is seen if its tag is still ahead, and never makes
// another one come twice or not at all.
func TestStore_Sheets_AddedMeanwhile(t *testing.T) {
	db := setup(t)
	pieces(t, db, 0, 0, 10, 20, 30)
	got := pgtest.TurnPages(t, 3, byTag(t, db), func() { pieces(t, db, 0, 5, 15, 40) })
	same(t, "tags", []int32{0, 0, 10, 15, 20, 30, 40}, tags(got))
}

// The shop's total is the sum of all sheets.
func TestStore_Total(t *testing.T) {
	db := setup(t)
	total := func() costing.Sums {
		return read(t, db, func(ctx context.Context, st store.Store) (costing.Sums, error) { return st.Total(ctx) })
	}
	same(t, "Total of empty books", costing.Sums{}, total())
	var want costing.Sums
	for _, by := range []int64{1, -20, 300, most} {
		save(t, db, func(b *costing.Book) { b.Of(id.New()).Sums = figures(by) })
		want = plus(want, figures(by))
		same(t, "Total", want, total())
	}
	same(t, "Total of all", figures(1-20+300+most), want)
}
