package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pgtest"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// stoolOrigin is what intake tells of a client's stool.
var stoolOrigin = costing.Origin{Tag: 7, Title: "Stool", Kind: "stool", Commission: true, Source: "L. Brandt", CameAt: longAgo}

// stool is all that can be known of a piece.
func stool() costing.Change {
	return costing.Change{Origin: new(stoolOrigin), Sales: new(costing.Sold), Channel: new("market"), SoldAt: new(noon), Finish: new("painted"), Scrapped: true}
}

// What a later event does not tell of a piece stays as it is; what it tells is so from
// then on.
func TestStore_Save_Change(t *testing.T) {
	db := setup(t)
	known := costing.Sheet{Origin: stoolOrigin, Sales: costing.Sold, Channel: "market", SoldAt: noon, Finish: "painted", Scrapped: true}
	listed := costing.Sheet{Sales: costing.Listed}
	for name, c := range map[string]struct {
		first, second costing.Change
		want          costing.Sheet
	}{
		"NothingKnown":     {costing.Change{}, costing.Change{}, costing.Sheet{Sales: costing.NotListed}},
		"NothingNew":       {stool(), costing.Change{}, known},
		"AllAtOnceLater":   {costing.Change{}, stool(), known},
		"StaysScrapped":    {costing.Change{Scrapped: true}, costing.Change{}, costing.Sheet{Sales: costing.NotListed, Scrapped: true}},
		"ScrappedLater":    {costing.Change{}, costing.Change{Scrapped: true}, costing.Sheet{Sales: costing.NotListed, Scrapped: true}},
		"Listed":           {costing.Change{Sales: new(costing.Listed)}, costing.Change{}, listed},
		"ListedAgain":      {costing.Change{Sales: new(costing.NotListed)}, costing.Change{Sales: new(costing.Listed)}, listed},
		"SaysNothingAnew":  {costing.Change{Sales: new(costing.Listed)}, costing.Change{Sales: new(costing.SalesState(""))}, listed},
		"NoTagSaysNothing": {stool(), costing.Change{Origin: &costing.Origin{Title: "Chair", Kind: "chair", Source: "kerb", CameAt: noon}}, known},
		"OtherWords": {stool(), costing.Change{Origin: &costing.Origin{Tag: 9_999_999}, Sales: new(costing.NotListed), SoldAt: new(time.Time{}), Channel: new("fair")},
			costing.Sheet{Origin: costing.Origin{Tag: 9_999_999}, Sales: costing.NotListed, Channel: "fair", Finish: "painted", Scrapped: true}},
		"WordsWithoutState": {stool(), costing.Change{Channel: new(""), Finish: new(""), SoldAt: new(longAgo)}, known},
	} {
		t.Run(name, func(t *testing.T) {
			piece := id.New()
			saveAt(t, db, noon, func(b *costing.Book) { *b.Of(piece) = c.first })
			saveAt(t, db, noon.Add(time.Hour), func(b *costing.Book) { *b.Of(piece) = c.second })
			want := c.want
			want.Piece, want.Revision, want.UpdatedAt = piece, 2, noon.Add(time.Hour)
			same(t, "sheet", want, sheet(t, db, piece))
		})
	}
}

// most is the largest factor of figures: a length of time holds no more.
const most = 10_000_000_000

// figures are thirteen sums of which no two are alike, up or down by a factor.
func figures(by int64) costing.Sums {
	n := func(n int64) money.Amount { return money.Amount(by * n) }
	ms := func(n int64) time.Duration { return time.Duration(by*n) * time.Millisecond }
	return costing.Sums{Acquisition: n(101), Labour: n(202), Material: n(303), Rework: n(404), Fees: n(505), Revenue: n(606), Tax: n(707), Outside: n(111),
		Premium: n(112), Burden: n(113), Overhead: n(114),
		LabourTime: ms(808), ReworkTime: ms(909)}
}

// plus adds in Go what the tables add in SQL.
func plus(a, b costing.Sums) costing.Sums {
	return costing.Sums{
		Acquisition: a.Acquisition + b.Acquisition, Labour: a.Labour + b.Labour, Material: a.Material + b.Material, Rework: a.Rework + b.Rework,
		Fees: a.Fees + b.Fees, Revenue: a.Revenue + b.Revenue, Tax: a.Tax + b.Tax, Outside: a.Outside + b.Outside,
		Premium: a.Premium + b.Premium, Burden: a.Burden + b.Burden, Overhead: a.Overhead + b.Overhead,
		LabourTime: a.LabourTime + b.LabourTime, ReworkTime: a.ReworkTime + b.ReworkTime}
}

// Sums go up and down with each book, from the largest amount to below zero; each book
// counts as one change of each of its pieces, at the instant it was saved.
func TestStore_Save_SumsAddUp(t *testing.T) {
	db, piece := setup(t), id.New()
	var want costing.Sums
	for n, by := range []int64{most, -most, -3, 0, 1, 1, 700} {
		now := noon.Add(time.Duration(n) * -time.Hour) // whatever the clocks say
		saveAt(t, db, now, func(b *costing.Book) { b.Of(piece).Sums = figures(by) })
		want = plus(want, figures(by))
		if got := sheet(t, db, piece); got.Sums != want || got.Revision != int64(n+1) || !got.UpdatedAt.Equal(now) {
			t.Errorf("after book %d: %+v; want %+v in revision %d of %s", n+1, got, want, n+1, now)
		}
	}
	if want != figures(699) {
		t.Errorf("all in all %+v, want %+v", want, figures(699))
	}
}

// Clocks that begin and end count up and down in whatever order they are known, in one book
// or in several.
func TestStore_Save_Running(t *testing.T) {
	db, piece := setup(t), id.New()
	for n, c := range []struct{ begun, ended, want int32 }{{0, 1, -1}, {1, 0, 0}, {3, 0, 3}, {2, 2, 3}, {0, 2, 1}, {0, 0, 1}} {
		save(t, db, func(b *costing.Book) {
			b.Of(piece)
			for range c.begun {
				b.Begin(person{id: id.New(), name: "Nell"}.clock(piece))
			}
			for range c.ended {
				b.End(id.New(), piece)
			}
		})
		if got := sheet(t, db, piece); got.Running != c.want || got.Revision != int64(n+1) {
			t.Errorf("after book %d: %d clocks in revision %d, want %d in %d", n+1, got.Running, got.Revision, c.want, n+1)
		}
	}
}

// One book changes many pieces, each by its own figures, and no other piece.
func TestStore_Save_ManyPieces(t *testing.T) {
	db, other := setup(t), id.New()
	save(t, db, func(b *costing.Book) { b.Of(other).Sums = figures(1_000) })
	want := map[id.ID]costing.Sums{}
	saveAt(t, db, noon.Add(time.Hour), func(b *costing.Book) {
		for n := range int64(20) {
			piece := id.New()
			want[piece] = figures(n)
			c := b.Of(piece)
			c.Sums, c.Origin, c.Scrapped = figures(n), &costing.Origin{Tag: int32(n)}, n%2 == 0
		}
	})
	for piece, sums := range want {
		got, n := sheet(t, db, piece), int64(sums.Acquisition/101)
		if got.Sums != sums || int64(got.Tag) != n || got.Scrapped != (n%2 == 0) || got.Revision != 1 {
			t.Errorf("piece %d = %+v, want %+v", n, got, sums)
		}
	}
	if got := sheet(t, db, other); got.Sums != figures(1_000) || got.Revision != 1 || !got.UpdatedAt.Equal(noon) {
		t.Errorf("a piece of another book = %+v, want it unchanged", got)
	}
}

// Two books that change one piece at once: the second waits for the first and adds to it.
func TestStore_Save_AtOnce(t *testing.T) {
	db, piece := setup(t), id.New()
	put := func(by int64) func(ctx context.Context, st store.Store) error {
		b := costing.NewBook(costing.Standard())
		b.Of(piece).Sums = figures(by)
		return func(ctx context.Context, st store.Store) error {
			if err := st.Save(ctx, b, noon); err != nil {
				return err
			}
			_, err := st.Makings(ctx, piece) // sends the write that was put off
			return err
		}
	}
	must(t, db, put(1))
	done := make(chan error, 1)
	must(t, db, func(ctx context.Context, st store.Store) error {
		if err := put(20)(ctx, st); err != nil {
			return err
		}
		go func() { done <- inTx(t, db, put(300)) }()
		pgtest.UntilOneWaits(t, db)
		return nil
	})
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if got := sheet(t, db, piece); got.Sums != figures(321) || got.Revision != 3 {
		t.Errorf("sheet = %+v, want %+v in revision 3", got, figures(321))
	}
}
