package store_test

import (
	"context"
	"errors"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// give gives a piece a tag, chosen or (0) the next free one, and puts it where got says.
func give(chosen int32, got *int32) func(ctx context.Context, st store.Store) error {
	return func(ctx context.Context, st store.Store) error {
		p := intake.Piece{Tag: chosen}
		if err := st.GiveTag(ctx, &p); err != nil {
			return err
		}
		*got = p.Tag
		_, err := st.List(ctx, id.Nil, 0, 1) // sends a write that was put off
		return err
	}
}

// The next free tag is above all that were given or chosen, whatever came in between.
func TestStore_GiveTag(t *testing.T) {
	db := setup(t)
	for _, c := range []struct{ chosen, want int32 }{
		{0, 1}, {0, 2}, {10, 10}, {0, 11}, {3, 3}, {0, 12}, {12, 12}, {0, 13},
	} {
		var got int32
		if must(t, db, give(c.chosen, &got)); got != c.want {
			t.Fatalf("GiveTag with %d chosen = %d, want %d", c.chosen, got, c.want)
		}
	}
}

// Two pieces that come in at one moment get two tags, also where one of them chooses.
func TestStore_GiveTag_OneAtATime(t *testing.T) {
	for name, c := range map[string]struct{ first, second, want int32 }{
		"NextAndNext":   {0, 0, 2},
		"ChosenAndNext": {7, 0, 8},
		"NextAndChosen": {0, 7, 7},
	} {
		t.Run(name, func(t *testing.T) {
			db := setup(t)
			var first, second, third int32
			nothing := func(context.Context, store.Store) error { return nil }
			if err := inTurn(t, db, give(c.first, &first), nothing, give(c.second, &second)); err != nil {
				t.Fatal(err)
			}
			if second != c.want {
				t.Errorf("the second got tag %d after %d, want %d", second, first, c.want)
			}
			if must(t, db, give(0, &third)); third != max(first, second)+1 {
				t.Errorf("a third got tag %d after %d and %d", third, first, second)
			}
		})
	}
}

// A refused command uses no tag up.
func TestStore_GiveTag_Refused(t *testing.T) {
	db := setup(t)
	var tag int32
	refused := fault.New(fault.Precondition, "REFUSED", "Refused.")
	for _, chosen := range []int32{0, 7} {
		err := inTx(t, db, func(ctx context.Context, st store.Store) error {
			return errors.Join(give(chosen, &tag)(ctx, st), refused)
		})
		if !fault.Is(err, "REFUSED") {
			t.Fatal(err)
		}
	}
	if must(t, db, give(0, &tag)); tag != 1 {
		t.Errorf("GiveTag after refused ones = %d, want 1", tag)
	}
}

// Two people scrap one piece at once: the second sees that it is done.
func TestStore_Lock_SeesWhatItWaitedFor(t *testing.T) {
	db := setup(t)
	p := stool(1)
	keep(t, db, p)
	var first, second intake.Piece
	lock := func(got *intake.Piece) func(ctx context.Context, st store.Store) error {
		return func(ctx context.Context, st store.Store) (err error) {
			*got, err = st.Lock(ctx, p.ID)
			return err
		}
	}
	scrap := func(ctx context.Context, st store.Store) error {
		if err := first.Scrap("worm", noon, false); err != nil {
			return err
		}
		return st.Update(ctx, first)
	}
	if err := inTurn(t, db, lock(&first), scrap, lock(&second)); err != nil {
		t.Fatal(err)
	}
	if second.State != intake.Scrapped || second.ScrapReason != "worm" || second.Version != 2 {
		t.Errorf("the second read %+v, want it scrapped in version 2", second)
	}
}

// Those who only look do not wait for those who change.
func TestStore_Get_WaitsForNobody(t *testing.T) {
	db := setup(t)
	p := stool(1)
	keep(t, db, p)
	must(t, db, func(ctx context.Context, st store.Store) error {
		locked, err := st.Lock(ctx, p.ID)
		if err != nil {
			return err
		}
		locked.State, locked.Version = intake.Scrapped, 2
		if err := st.Update(ctx, locked); err != nil {
			return err
		}
		if _, err := st.Get(ctx, id.New()); !fault.Is(err, "PIECE_NOT_FOUND") { // sends the update
			return err
		}
		if got := get(t, db, p.ID); got.State != intake.InHand || got.Version != 1 {
			t.Errorf("before the commit others read %+v, want it in hand", got)
		}
		return nil
	})
}
