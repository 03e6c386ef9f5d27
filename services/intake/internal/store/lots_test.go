package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// keepLot takes stools in as a lot at 1.00 each, and returns the lot and them.
func keepLot(t *testing.T, db *pg.DB, tags ...int32) (intake.Lot, []intake.Piece) {
	t.Helper()
	l := intake.Lot{ID: id.New(), Source: "auction № 7", Day: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), OnScrap: intake.TakesOver, TakenInAt: noon}
	first := intake.Terms{Price: money.Amount(len(tags)) * 1_00, Split: intake.ByValue, SetAt: noon}
	var pieces []intake.Piece
	for i, tag := range tags {
		p := stool(tag)
		p.Purchase.Source, p.Purchase.Lot = l.Source, l.ID
		pieces = append(pieces, p)
		first.Shares = append(first.Shares, intake.Share{Piece: p.ID, Tag: tag, Title: p.Title, State: p.State, Weight: int64(i + 1), Amount: 1_00})
	}
	l.Terms = []intake.Terms{first}
	must(t, db, func(ctx context.Context, st store.Store) error {
		if err := st.InsertLot(ctx, l); err != nil {
			return err
		}
		for _, p := range pieces {
			if err := st.Insert(ctx, p); err != nil {
				return err
			}
		}
		return st.AddTerms(ctx, l)
	})
	return l, pieces
}

func getLot(t *testing.T, db *pg.DB, lot id.ID) (l intake.Lot) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		l, err = st.GetLot(ctx, lot)
		return err
	})
	return l
}

// Terms are added to a lot, in their order, and its pieces cost what the newest say; other lots and
// pieces stay as they are.
func TestStore_Lots_RoundTrip(t *testing.T) {
	db := setup(t)
	other, theirs := keepLot(t, db, 1, 9)
	want, pieces := keepLot(t, db, 7, 3, 5)
	second := intake.Terms{Price: money.Max, Split: intake.ByHand, Reason: `"misread"; half`, SetAt: noon.Add(time.Hour)}
	for i, s := range want.Now().Shares {
		s.Weight, s.Amount = 1<<62, money.Amount(i)
		second.Shares = append(second.Shares, s)
	}
	want.Terms = append(want.Terms, second)
	must(t, db, func(ctx context.Context, st store.Store) error {
		if err := st.AddTerms(ctx, want); err != nil {
			return err
		}
		return st.SetPrices(ctx, want)
	})
	for _, l := range []intake.Lot{want, other} {
		if diff := cmp.Diff(l, getLot(t, db, l.ID), exact); diff != "" {
			t.Errorf("lot (-written +read):\n%s", diff)
		}
	}
	for i := range pieces {
		pieces[i].Purchase.Price = money.Amount(i)
	}
	for _, p := range append(pieces, theirs...) {
		if diff := cmp.Diff(p, get(t, db, p.ID), exact); diff != "" {
			t.Errorf("piece %d (-written +read):\n%s", p.Tag, diff)
		}
	}
}

func TestStore_Lots_List(t *testing.T) {
	db := setup(t)
	var want []id.ID
	for n := range int32(5) {
		l, _ := keepLot(t, db, 2*n+1, 2*n+2)
		want = append(want, l.ID)
	}
	for size := int32(1); size < 7; size++ {
		var got []id.ID
		for _, l := range pgtest.TurnPages(t, size, func(last intake.Lot, limit int32) (page []intake.Lot) {
			must(t, db, func(ctx context.Context, st store.Store) (err error) {
				page, err = st.ListLots(ctx, last.ID, limit)
				return err
			})
			return page
		}, nil) {
			got = append(got, l.ID)
			if len(l.Now().Shares) != 2 {
				t.Errorf("a lot of the list has %d shares, want 2", len(l.Now().Shares))
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("in pages of %d (-want +got):\n%s", size, diff)
		}
	}
}

func TestStore_Lots_NotFound(t *testing.T) {
	db := setup(t)
	keepLot(t, db, 1, 2)
	for name, read := range map[string]func(ctx context.Context, st store.Store) error{
		"GetLot":  func(ctx context.Context, st store.Store) error { _, err := st.GetLot(ctx, id.New()); return err },
		"LockLot": func(ctx context.Context, st store.Store) error { _, err := st.LockLot(ctx, id.New()); return err },
	} {
		if err := inTx(t, db, read); !fault.Is(err, "LOT_NOT_FOUND") || !errors.Is(err, fault.NotFound) {
			t.Errorf("%s = %v, want LOT_NOT_FOUND", name, err)
		}
	}
}

// A command that waits for another about the same lot reads what that one added.
func TestStore_LockLot_OneAfterTheOther(t *testing.T) {
	db := setup(t)
	l, _ := keepLot(t, db, 1, 2)
	var seen intake.Lot
	lock := func(ctx context.Context, st store.Store) error { _, err := st.LockLot(ctx, l.ID); return err }
	again := l
	again.Terms = append(again.Terms, l.Now())
	write := func(ctx context.Context, st store.Store) error { return st.AddTerms(ctx, again) }
	err := inTurn(t, db, lock, write, func(ctx context.Context, st store.Store) (err error) {
		seen, err = st.LockLot(ctx, l.ID)
		return err
	})
	if err != nil || seen.Version() != 2 {
		t.Errorf("the second LockLot = version %d, %v; want 2", seen.Version(), err)
	}
}

// A free number is none of those that others of the lot chose, whichever comes first.
func TestStore_GiveTags(t *testing.T) {
	db := setup(t)
	var pieces []intake.Piece
	for _, tag := range []int32{0, 1, 0, 3} {
		pieces = append(pieces, stool(tag))
	}
	must(t, db, func(ctx context.Context, st store.Store) error {
		if err := st.GiveTags(ctx, pieces); err != nil {
			return err
		}
		for _, p := range pieces {
			if err := st.Insert(ctx, p); err != nil {
				return err
			}
		}
		return nil
	})
	if diff := cmp.Diff([]int32{4, 1, 5, 3}, tags(pieces)); diff != "" {
		t.Errorf("tags (-want +got):\n%s", diff)
	}
}
