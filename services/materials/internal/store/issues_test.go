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

// give issues some of the lots to a piece of its own and keeps that.
func give(t *testing.T, db *pg.DB, p *materials.Product, at time.Time, amount string, lots ...materials.Lot) materials.Issue {
	t.Helper()
	return giveTo(t, db, p, id.New(), at, amount, lots...)
}

func giveTo(t *testing.T, db *pg.DB, p *materials.Product, piece id.ID, at time.Time, amount string, lots ...materials.Lot) materials.Issue {
	t.Helper()
	i := issueOf(at)
	i.Stage.Piece = piece
	must(t, db, func(ctx context.Context, st store.Store) error {
		_, piece, _, err := st.LockWithLots(ctx, p.ID, i.Stage.Piece)
		if err != nil {
			return err
		}
		if i, _, err = p.Issue(&piece, i, litres(t, amount), lots); err != nil {
			return err
		}
		return st.Issue(ctx, *p, piece, i)
	})
	return i
}

func takeBack(t *testing.T, db *pg.DB, p *materials.Product, i materials.Issue) materials.Issue {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		e, err := st.LockIssue(ctx, p.ID, i.ID)
		if err != nil {
			return err
		}
		if i, _, err = p.TakeBack(&e.Piece, i, materials.TakeBack{Reason: "a slip", Actor: "Ida", At: noon.Add(time.Hour)}); err != nil {
			return err
		}
		return st.TakeBack(ctx, *p, e.Piece, i)
	})
	return i
}

func lockIssue(t *testing.T, db *pg.DB, product, issue id.ID) (e store.Entry, err error) {
	t.Helper()
	err = inTx(t, db, func(ctx context.Context, st store.Store) (err error) {
		e, err = st.LockIssue(ctx, product, issue)
		return err
	})
	return e, err
}

func TestStore_LockIssue_RoundTrip(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	first, second := receive(t, db, &p, "1", noon), receive(t, db, &p, "2", noon.Add(time.Hour))
	i := give(t, db, &p, noon, "1.5", first, second)
	want := store.Entry{Product: p, Piece: materials.Piece{ID: i.Stage.Piece, Version: 1}, Issue: i}
	got, err := lockIssue(t, db, p.ID, i.ID)
	if diff := cmp.Diff(want, got, exact); err != nil || diff != "" {
		t.Errorf("LockIssue: %v (-saved +read):\n%s", err, diff)
	}

	i = takeBack(t, db, &p, i)
	want.Product, want.Piece.Version, want.Issue = p, 2, i
	got, err = lockIssue(t, db, p.ID, i.ID)
	if diff := cmp.Diff(want, got, exact); err != nil || diff != "" {
		t.Errorf("LockIssue of what was taken back: %v (-saved +read):\n%s", err, diff)
	}
	var lots []materials.Lot
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		_, _, lots, err = st.LockWithLots(ctx, p.ID, i.Stage.Piece)
		return err
	})
	if diff := cmp.Diff([]materials.Lot{first, second}, lots, exact); diff != "" {
		t.Errorf("lots (-received +read):\n%s", diff)
	}
}

// The draws come with their lots as they are now, not as they were left.
func TestStore_LockIssue_LotsAsTheyAreNow(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	first := give(t, db, &p, noon, "0.25", receive(t, db, &p, "1", noon))
	second := give(t, db, &p, noon, "0.5", first.Draws[0].Lot)
	got, err := lockIssue(t, db, p.ID, first.ID)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(second.Draws[0].Lot, got.Issue.Draws[0].Lot, exact); diff != "" {
		t.Errorf("lot (-saved +read):\n%s", diff)
	}
}

func TestStore_LockIssue_NotFound(t *testing.T) {
	db := open(t)
	p, other := add(t, db, "Shellac"), add(t, db, "Wax")
	i := give(t, db, &p, noon, "1", receive(t, db, &p, "1", noon))
	for name, ids := range map[string][2]id.ID{
		"NoSuchIssue": {p.ID, id.New()}, "OfAnotherProduct": {other.ID, i.ID}, "NoSuchProduct": {id.New(), i.ID},
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
	i := give(t, db, &p, noon, "1", receive(t, db, &p, "1", noon))
	back := takeBack(t, db, &p, i)
	err := inTx(t, db, func(ctx context.Context, st store.Store) error {
		return st.TakeBack(ctx, p, materials.Piece{ID: i.Stage.Piece, Version: 3}, back)
	})
	if !fault.Is(err, "ISSUE_TAKEN_BACK") || !errors.Is(err, fault.Precondition) {
		t.Errorf("TakeBack = %v, want ISSUE_TAKEN_BACK", err)
	}
}

// One takes an issue back; another asks for it, waits, and must then see that.
func TestStore_LockIssue_SeesWhatItWaitedFor(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	i := give(t, db, &p, noon, "1", receive(t, db, &p, "1", noon))
	type reading struct {
		store.Entry
		err error
	}
	second := make(chan reading, 1)
	must(t, db, func(ctx context.Context, st store.Store) error {
		first, err := st.LockIssue(ctx, p.ID, i.ID)
		if err != nil {
			return err
		}
		go func() {
			var r reading
			r.Entry, r.err = lockIssue(t, db, p.ID, i.ID)
			second <- r
		}()
		pgtest.UntilOneWaits(t, db)
		back, _, err := first.Product.TakeBack(&first.Piece, first.Issue, materials.TakeBack{Reason: "a slip", At: noon})
		if err != nil {
			return err
		}
		return st.TakeBack(ctx, first.Product, first.Piece, back)
	})
	r := <-second
	if r.err != nil || r.Issue.Back == nil || r.Piece.Version != 2 || !r.Issue.Draws[0].Lot.Left.Equal(litres(t, "1").Value) {
		t.Errorf("read %+v, %v; want it taken back and the lot full", r.Entry, r.err)
	}
}

func TestStore_Issues_NewestFirst(t *testing.T) {
	db := open(t)
	p, other := add(t, db, "Shellac"), add(t, db, "Wax")
	lot, wax := receive(t, db, &p, "9", noon), receive(t, db, &other, "9", noon)
	late := give(t, db, &p, noon.Add(time.Minute), "1", lot)
	early := give(t, db, &p, noon, "1", late.Draws[0].Lot)
	same := give(t, db, &p, noon, "1", early.Draws[0].Lot)
	ofWax := give(t, db, &other, noon.Add(-time.Minute), "1", wax)
	read := func(f store.IssueFilter, before store.IssueKey, limit int32) (ids []id.ID) {
		err := view(t, db, func(ctx context.Context, st store.Store) error {
			entries, err := st.Issues(ctx, f, before, limit)
			for _, e := range entries {
				ids = append(ids, e.Issue.ID)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return ids
	}
	cases := map[string]struct{ got, want []id.ID }{
		"All":         {read(store.IssueFilter{}, store.IssueKey{}, 10), []id.ID{late.ID, same.ID, early.ID, ofWax.ID}},
		"FirstTwo":    {read(store.IssueFilter{}, store.IssueKey{}, 2), []id.ID{late.ID, same.ID}},
		"AfterThose":  {read(store.IssueFilter{}, store.IssueKey{At: noon, ID: same.ID}, 2), []id.ID{early.ID, ofWax.ID}},
		"OfAProduct":  {read(store.IssueFilter{Product: other.ID}, store.IssueKey{}, 10), []id.ID{ofWax.ID}},
		"ToAPiece":    {read(store.IssueFilter{Piece: early.Stage.Piece}, store.IssueKey{}, 10), []id.ID{early.ID}},
		"NeitherFits": {read(store.IssueFilter{Product: other.ID, Piece: early.Stage.Piece}, store.IssueKey{}, 10), nil},
	}
	for name, c := range cases {
		if diff := cmp.Diff(c.want, c.got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}
