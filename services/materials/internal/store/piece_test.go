package store_test

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"

	"tackfree/pkg/id"
	"tackfree/pkg/pgtest"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// One takes from a can for a piece that is new here; another takes from another can for
// it, waits for the piece, and must then count on.
func TestStore_LockWithLots_TwoProductsOnePiece(t *testing.T) {
	db := open(t)
	p, other, piece := add(t, db, "Shellac"), add(t, db, "Wax"), id.New()
	type reading struct {
		materials.Piece
		err error
	}
	second := make(chan reading, 1)
	must(t, db, func(ctx context.Context, st store.Store) error {
		first, to, _, err := st.LockWithLots(ctx, p.ID, piece)
		if err != nil {
			return err
		}
		go func() {
			var r reading
			r.err = inTx(t, db, func(ctx context.Context, st store.Store) (err error) {
				_, r.Piece, _, err = st.LockWithLots(ctx, other.ID, piece)
				return err
			})
			second <- r
		}()
		pgtest.UntilOneWaits(t, db)
		to.Version++
		return st.Issue(ctx, first, to, materials.Issue{ID: id.New(), At: noon, Stage: materials.Stage{ID: id.New(), Piece: piece, Pass: 1}})
	})
	if r := <-second; r.err != nil || r.Version != 1 {
		t.Errorf("read %+v, %v; want version 1", r.Piece, r.err)
	}
}

// Whoever issues and takes back, of whichever product and for whichever piece, waits in a
// line: nobody has to begin again because two waited for each other.
func TestStore_Locks_NoCircle(t *testing.T) {
	db := open(t)
	var issues []materials.Issue
	var products []materials.Product
	pieces := []id.ID{id.New(), id.New()}
	for _, name := range []string{"Shellac", "Wax"} {
		p := add(t, db, name)
		lot := receive(t, db, &p, "9", noon)
		for _, piece := range pieces {
			i := giveTo(t, db, &p, piece, noon, "1", lot)
			issues, lot = append(issues, i), i.Draws[0].Lot
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
				p, piece, _, err := st.LockWithLots(ctx, p.ID, i.Stage.Piece)
				return errors.Join(err, st.Issue(ctx, p, piece, materials.Issue{ID: id.New(), At: noon, Stage: i.Stage}))
			})
			race(func(ctx context.Context, st store.Store) error {
				e, err := st.LockIssue(ctx, p.ID, i.ID)
				return errors.Join(err, st.Update(ctx, e.Product))
			})
		}
	}
	all.Wait()
	if asked.Load() != begun.Load() {
		t.Errorf("%d transactions began %d times", asked.Load(), begun.Load())
	}
}
