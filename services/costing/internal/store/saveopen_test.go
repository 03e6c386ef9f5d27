package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// People are counted, not clocks, each at the piece that they are at; a clock at none is
// nobody's piece.
func TestStore_Save_PeopleAtWork(t *testing.T) {
	db, piece, other := setup(t), id.New(), id.New()
	nell, bo := person{id: id.New(), name: "Nell"}, person{id: id.New(), name: "Bo"}
	first, second := nell.clock(piece), nell.clock(piece)
	save(t, db, func(b *costing.Book) {
		for _, c := range []costing.Clock{first, second, bo.clock(piece), nell.clock(other), bo.clock(id.Nil)} {
			b.Begin(c)
		}
	})
	atWork := func(want, ofOther int64) {
		t.Helper()
		if got := sheet(t, db, piece).AtWork; got != want {
			t.Errorf("%d people at the piece, want %d", got, want)
		}
		if got := sheet(t, db, other).AtWork; got != ofOther {
			t.Errorf("%d people at the other, want %d", got, ofOther)
		}
	}
	atWork(2, 1)
	save(t, db, func(b *costing.Book) { b.End(first.Entry, piece) })
	atWork(2, 1)
	save(t, db, func(b *costing.Book) { b.End(second.Entry, piece) })
	atWork(1, 1)
}

// What is out stands on its piece's sheet, with the price that was named, until it is back and
// billed; within one book nothing of it is left.
func TestStore_Save_Outside(t *testing.T) {
	db, piece, other := setup(t), id.New(), id.New()
	cane := costing.OutsideWork{ID: id.New(), Piece: piece, Kind: "caning", Firm: `"Rush" & 'Reed'`, Quoted: new(largest)}
	stone := costing.OutsideWork{ID: id.New(), Piece: piece, Kind: "stone", Firm: "Ada Stone"}
	gone := costing.OutsideWork{ID: id.New(), Piece: other, Kind: "stone", Firm: "Ada Stone"}
	save(t, db, func(b *costing.Book) {
		b.Await(stone)
		b.Await(cane)
		b.Await(gone)
		b.SettleOut(gone.ID, other)
	})
	same(t, "Out", []costing.OutsideWork{cane, stone}, sheet(t, db, piece).Out)
	same(t, "Out of the other", []costing.OutsideWork(nil), sheet(t, db, other).Out)
	save(t, db, func(b *costing.Book) { b.SettleOut(cane.ID, piece) })
	same(t, "Out after one is back", []costing.OutsideWork{stone}, sheet(t, db, piece).Out)
	stone.Unbilled = true
	save(t, db, func(b *costing.Book) { b.Await(stone) })
	same(t, "Out while one has no bill", []costing.OutsideWork{stone}, sheet(t, db, piece).Out)
	save(t, db, func(b *costing.Book) {
		b.Await(stone)
		b.SettleOut(stone.ID, piece)
	})
	same(t, "Out when it is billed", []costing.OutsideWork(nil), sheet(t, db, piece).Out)
}

// Whose time waits is told once each, by the name that they have now, if it lies before an
// instant and nobody settled it.
func TestStore_ReviewedBefore(t *testing.T) {
	db, nell, bo := setup(t), id.New(), id.New()
	first := costing.Review{ID: id.New(), Person: nell, PersonName: "Nell", Since: noon}
	again := costing.Review{ID: id.New(), Person: nell, PersonName: "Nell", Since: noon.Add(-time.Hour)}
	later := costing.Review{ID: id.New(), Person: bo, PersonName: "Bo", Since: noon.Add(time.Hour)}
	gone := costing.Review{ID: id.New(), Person: bo, PersonName: "Bo", Since: noon}
	save(t, db, func(b *costing.Book) {
		for _, r := range []costing.Review{first, again, later, gone} {
			b.Raise(r)
		}
		b.SettleReview(gone.ID)
	})
	named(t, db, nell, "Nell Quist", 1)
	names := func(before time.Time, want ...string) {
		t.Helper()
		same(t, "before "+before.String(), want, reviewed(t, db, before))
	}
	names(noon.Add(-time.Hour))
	names(noon.Add(time.Hour), "Nell Quist")
	names(noon.Add(2*time.Hour), "Bo", "Nell Quist")
	save(t, db, func(b *costing.Book) {
		b.SettleReview(first.ID)
		b.SettleReview(again.ID)
	})
	names(noon.Add(2*time.Hour), "Bo")
}

func reviewed(t *testing.T, db *pg.DB, before time.Time) []string {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) ([]string, error) { return st.ReviewedBefore(ctx, before) })
}
