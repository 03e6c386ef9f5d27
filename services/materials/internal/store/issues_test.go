package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// held is an issue on its shelf, with its piece.
type held struct {
	issue  materials.Issue
	shelf  *materials.Shelf
	pieces map[id.ID]*materials.Piece
}

func lockIssue(t *testing.T, db *pg.DB, product, issue id.ID) (h held, err error) {
	t.Helper()
	err = inTx(t, db, func(ctx context.Context, st store.Store) (err error) {
		h.issue, h.shelf, h.pieces, err = st.LockIssue(ctx, product, issue)
		return err
	})
	return h, err
}

func wantHeld(t *testing.T, db *pg.DB, p materials.Product, i materials.Issue, version int64, lots ...materials.Lot) {
	t.Helper()
	h, err := lockIssue(t, db, p.ID, i.ID)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(i, h.issue, exact); diff != "" {
		t.Errorf("issue (-saved +read):\n%s", diff)
	}
	if diff := cmp.Diff(p, h.shelf.Product, exact); diff != "" {
		t.Errorf("product (-saved +read):\n%s", diff)
	}
	if diff := cmp.Diff(map[id.ID]*materials.Piece{i.To.Piece: {ID: i.To.Piece, Version: version}}, h.pieces); diff != "" {
		t.Errorf("piece (-saved +read):\n%s", diff)
	}
	if diff := cmp.Diff(lots, h.shelf.Lots(), exact); diff != "" {
		t.Errorf("lots (-saved +read):\n%s", diff)
	}
}

func TestStore_LockIssue_RoundTrip(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	first, second := receive(t, db, &p, "1", noon), receive(t, db, &p, "2", noon.Add(time.Hour))
	i := give(t, db, &p, noon.Add(2*time.Hour), "1.5")
	used, rest := first, second
	used.Left, used.CostLeft = litres(t, "1").Value.Sub(used.Left), 0
	rest.Left, rest.CostLeft = litres(t, "1.5").Value, 14_99
	wantHeld(t, db, p, i, 1, used, rest)

	back := giveBack(t, db, &p, i, "0.25")
	i.Returned = materials.Worth{Quantity: back.Quantity, Cost: back.Total()}
	rest.Left, rest.CostLeft = litres(t, "1.75").Value, 14_99+back.Total()
	wantHeld(t, db, p, i, 2, used, rest)

	other := give(t, db, &p, noon.Add(5*time.Hour), "0.5")
	other = takeBack(t, db, &p, other)
	wantHeld(t, db, p, other, 2, rest)
	balanced(t, db)
}

// The lots are as they are now, not as the issue left them.
func TestStore_LockIssue_LotsAsTheyAreNow(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	receive(t, db, &p, "1", noon)
	first := give(t, db, &p, noon.Add(time.Hour), "0.25")
	give(t, db, &p, noon.Add(2*time.Hour), "0.75")
	h, err := lockIssue(t, db, p.ID, first.ID)
	if lots := h.shelf.Lots(); err != nil || len(lots) != 1 || !lots[0].Left.IsZero() {
		t.Errorf("%v; the lots are %+v", err, lots)
	}
}

// What comes back does so as if all that was ever noted were counted anew, also where an earlier
// delivery that was noted late changed what the issue had taken.
func TestStore_LockIssue_RemembersWhatItTook(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	receive(t, db, &p, "2", noon.Add(time.Hour))
	i := give(t, db, &p, noon.Add(2*time.Hour), "1.5")
	giveBack(t, db, &p, i, "0.25")
	early := receive(t, db, &p, "1", noon)
	h, err := lockIssue(t, db, p.ID, i.ID)
	if err != nil {
		t.Fatal(err)
	}
	e, err := p.Return(h.issue, entry(noon.Add(5*time.Hour)), litres(t, "0.5"))
	if err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error {
		_, anew, _, err := st.LockIssue(ctx, p.ID, i.ID)
		if err := errors.Join(err, st.Recall(ctx, anew), anew.Post(e), h.shelf.Post(e)); err != nil {
			return err
		}
		if diff := cmp.Diff(anew.Posted, h.shelf.Posted, exact); diff != "" || len(h.shelf.Posted[0].Parts) != 2 || h.shelf.Posted[0].Parts[0].Lot != early.ID {
			t.Errorf("came back (-anew +remembered):\n%s", diff)
		}
		if diff := cmp.Diff(anew.Lots(), h.shelf.Lots(), exact); diff != "" {
			t.Errorf("lots (-anew +remembered):\n%s", diff)
		}
		return st.SaveShelf(ctx, h.shelf)
	})
	balanced(t, db)
}

func TestStore_LockIssue_NotFound(t *testing.T) {
	db := open(t)
	p, other := add(t, db, "Shellac"), add(t, db, "Wax")
	lot := receive(t, db, &p, "1", noon)
	i := give(t, db, &p, noon.Add(time.Hour), "1")
	for name, ids := range map[string][2]id.ID{
		"NoSuchIssue": {p.ID, id.New()}, "OfAnotherProduct": {other.ID, i.ID}, "NoSuchProduct": {id.New(), i.ID}, "ADelivery": {p.ID, lot.ID},
	} {
		if _, err := lockIssue(t, db, ids[0], ids[1]); !fault.Is(err, "ISSUE_NOT_FOUND") || !errors.Is(err, fault.NotFound) {
			t.Errorf("%s: LockIssue = %v, want ISSUE_NOT_FOUND", name, err)
		}
	}
}

// The tables take an issue back once, whatever the domain thinks.
func TestStore_TakeBack_Once(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	receive(t, db, &p, "1", noon)
	i := give(t, db, &p, noon.Add(time.Hour), "1")
	takeBack(t, db, &p, i)
	give(t, db, &p, noon.Add(2*time.Hour), "1")
	err := inTx(t, db, func(ctx context.Context, st store.Store) error {
		shelf, _, err := st.Shelf(ctx, p.ID, []id.ID{i.Parts[0].Lot})
		if err != nil {
			return err
		}
		shelf.Remember(i.Posted, nil)
		e, err := i.TakeBack(entry(noon.Add(3 * time.Hour)))
		return errors.Join(err, shelf.Post(e), st.SaveShelf(ctx, shelf))
	})
	if !fault.Is(err, "ISSUE_TAKEN_BACK") || !errors.Is(err, fault.Precondition) {
		t.Errorf("TakeBack = %v, want ISSUE_TAKEN_BACK", err)
	}
}

// One takes an issue back; another asks for it, waits, and must then see that.
func TestStore_LockIssue_SeesWhatItWaitedFor(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	receive(t, db, &p, "1", noon)
	i := give(t, db, &p, noon.Add(time.Hour), "1")
	type reading struct {
		held
		err error
	}
	second := make(chan reading, 1)
	must(t, db, func(ctx context.Context, st store.Store) error {
		issue, shelf, pieces, err := st.LockIssue(ctx, p.ID, i.ID)
		if err != nil {
			return err
		}
		go func() {
			var r reading
			r.held, r.err = lockIssue(t, db, p.ID, i.ID)
			second <- r
		}()
		pgtest.UntilOneWaits(t, db)
		e := entry(noon.Add(2 * time.Hour))
		e.Reason = "a slip"
		if e, err = issue.TakeBack(e); err != nil {
			return err
		}
		pieces[i.To.Piece].Version++
		return errors.Join(st.Recall(ctx, shelf), shelf.Post(e), st.SaveShelf(ctx, shelf), st.SavePieces(ctx, pieces))
	})
	r := <-second
	if r.err != nil || r.issue.Back == nil || r.pieces[i.To.Piece].Version != 2 || !r.shelf.Lots()[0].Left.Equal(litres(t, "1").Value) {
		t.Errorf("read %+v, %v; want it taken back and the lot full", r.held, r.err)
	}
}

func TestStore_Issues_NewestFirst(t *testing.T) {
	db := open(t)
	p, other := add(t, db, "Shellac"), add(t, db, "Wax")
	receive(t, db, &p, "9", noon.Add(-time.Hour))
	receive(t, db, &other, "9", noon.Add(-time.Hour))
	late := give(t, db, &p, noon.Add(time.Minute), "1")
	early := give(t, db, &p, noon, "1")
	same := give(t, db, &p, noon, "1")
	ofWax := give(t, db, &other, noon.Add(-time.Minute), "1")
	read := func(f store.EntryFilter, before store.EntryKey, limit int32) (ids []id.ID) {
		err := view(t, db, func(ctx context.Context, st store.Store) error {
			entries, err := st.Issues(ctx, f, before, limit)
			for _, e := range entries {
				ids = append(ids, e.ID)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return ids
	}
	cases := map[string]struct{ got, want []id.ID }{
		"All":         {read(store.EntryFilter{}, store.EntryKey{}, 10), []id.ID{late.ID, same.ID, early.ID, ofWax.ID}},
		"FirstTwo":    {read(store.EntryFilter{}, store.EntryKey{}, 2), []id.ID{late.ID, same.ID}},
		"AfterThose":  {read(store.EntryFilter{}, store.EntryKey{At: noon, ID: same.ID}, 2), []id.ID{early.ID, ofWax.ID}},
		"OfAProduct":  {read(store.EntryFilter{Product: other.ID}, store.EntryKey{}, 10), []id.ID{ofWax.ID}},
		"ToAPiece":    {read(store.EntryFilter{Piece: early.To.Piece}, store.EntryKey{}, 10), []id.ID{early.ID}},
		"NeitherFits": {read(store.EntryFilter{Product: other.ID, Piece: early.To.Piece}, store.EntryKey{}, 10), nil},
		"From":        {read(store.EntryFilter{From: noon}, store.EntryKey{}, 10), []id.ID{late.ID, same.ID, early.ID}},
		"Until":       {read(store.EntryFilter{Until: noon}, store.EntryKey{}, 10), []id.ID{ofWax.ID}},
	}
	for name, c := range cases {
		if diff := cmp.Diff(c.want, c.got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// An issue is listed with what came back of it and why it no longer counts.
func TestStore_Issues_WithWhatCameBack(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	receive(t, db, &p, "9", noon)
	first, second := give(t, db, &p, noon.Add(time.Hour), "2"), give(t, db, &p, noon.Add(3*time.Hour), "1")
	for _, amount := range []string{"0.25", "0.5"} {
		back := giveBack(t, db, &p, first, amount)
		first.Returned.Quantity, first.Returned.Cost = first.Returned.Quantity.Add(back.Quantity), first.Returned.Cost+back.Total()
	}
	second = takeBack(t, db, &p, second)
	var got []store.Issue
	err := view(t, db, func(ctx context.Context, st store.Store) (err error) {
		got, err = st.Issues(ctx, store.EntryFilter{}, store.EntryKey{}, 10)
		return err
	})
	if diff := cmp.Diff([]store.Issue{{Issue: second, Product: p}, {Issue: first, Product: p}}, got, exact); err != nil || diff != "" {
		t.Errorf("Issues: %v (-noted +read):\n%s", err, diff)
	}
}
