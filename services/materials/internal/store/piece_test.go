package store_test

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pgtest"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// One takes from a can for a piece that is new here; another takes from another can for
// it, waits for the piece, and must then count on.
func TestStore_Shelf_TwoProductsOnePiece(t *testing.T) {
	db := open(t)
	p, other, piece := add(t, db, "Shellac"), add(t, db, "Wax"), id.New()
	type reading struct {
		pieces map[id.ID]*materials.Piece
		err    error
	}
	second := make(chan reading, 1)
	must(t, db, func(ctx context.Context, st store.Store) error {
		_, pieces, err := st.Shelf(ctx, p.ID, nil, piece)
		if err != nil {
			return err
		}
		go func() {
			var r reading
			r.err = inTx(t, db, func(ctx context.Context, st store.Store) (err error) {
				_, r.pieces, err = st.Shelf(ctx, other.ID, nil, piece)
				return err
			})
			second <- r
		}()
		pgtest.UntilOneWaits(t, db)
		pieces[piece].Version++
		return st.SavePieces(ctx, pieces)
	})
	if r := <-second; r.err != nil || r.pieces[piece].Version != 1 {
		t.Errorf("read %+v, %v; want version 1", r.pieces, r.err)
	}
}

// Pieces are told apart whatever order they are asked for in, and one that is asked for twice, or
// is none, is one or none.
func TestStore_Shelf_Pieces(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	first, second, third := id.New(), id.New(), id.New()
	must(t, db, func(ctx context.Context, st store.Store) error {
		_, pieces, err := st.Shelf(ctx, p.ID, nil, third, first, id.Nil, third)
		if err != nil {
			return err
		}
		pieces[first].Version, pieces[third].Version = 1, 3
		return st.SavePieces(ctx, pieces)
	})
	must(t, db, func(ctx context.Context, st store.Store) error {
		_, pieces, err := st.Shelf(ctx, p.ID, nil, second, third, first)
		if err != nil {
			return err
		}
		more, err := st.LockPieces(ctx, []id.ID{third, first})
		for n, locked := range []map[id.ID]*materials.Piece{pieces, more} {
			if len(locked) != 3-n || locked[first].Version != 1 || locked[third].Version != 3 {
				t.Errorf("locked %+v", locked)
			}
		}
		if pieces[second].Version != 0 {
			t.Errorf("a new piece has version %d", pieces[second].Version)
		}
		return err
	})
}

// Whoever issues and gives back, of whichever product and for whichever pieces, waits in a
// line: nobody has to begin again because two waited for each other.
func TestStore_Locks_NoCircle(t *testing.T) {
	db := open(t)
	var issues []materials.Issue
	var products []materials.Product
	pieces := []id.ID{id.New(), id.New()}
	for _, name := range []string{"Shellac", "Wax"} {
		p := add(t, db, name)
		receive(t, db, &p, "9", noon)
		for _, piece := range pieces {
			issues = append(issues, giveTo(t, db, &p, piece, noon.Add(time.Hour), "1"))
		}
		products = append(products, p)
	}
	var all sync.WaitGroup
	var asked, begun atomic.Int64
	race := func(lock func(ctx context.Context, st store.Store) error) {
		asked.Add(1)
		all.Go(func() {
			err := inTx(t, db, func(ctx context.Context, st store.Store) error {
				begun.Add(1)
				return lock(ctx, st)
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	for range 10 {
		for n, i := range issues {
			p := products[n/len(pieces)]
			race(func(ctx context.Context, st store.Store) error {
				shelf, locked, err := st.Shelf(ctx, p.ID, nil, pieces[n%2], pieces[1-n%2])
				if err != nil {
					return err
				}
				return errors.Join(st.SaveShelf(ctx, shelf), st.SavePieces(ctx, locked))
			})
			race(func(ctx context.Context, st store.Store) error {
				_, shelf, locked, err := st.LockIssue(ctx, p.ID, i.ID)
				if err != nil {
					return err
				}
				return errors.Join(st.SaveShelf(ctx, shelf), st.SavePieces(ctx, locked))
			})
		}
	}
	all.Wait()
	if asked.Load() != begun.Load() {
		t.Errorf("%d transactions began %d times", asked.Load(), begun.Load())
	}
}
