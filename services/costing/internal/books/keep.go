// Package books keeps the books: it saves what events and rates put into them, and proves
// them by recomputing everything from the producers' events.
//
//	live events ─▶ Keep ─▶ live tables ◀─ swap ─┐
//	producers' logs ─▶ Keep ─▶ shadow tables ───┴─ compare ─▶ differences
package books

import (
	"context"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// Keep closes a book out against the sales, returns and scraps of its pieces, checks that
// every transaction adds up to zero, and saves it in the transaction.
func Keep(ctx context.Context, tx *pg.Tx, b *costing.Book, now time.Time) error {
	st := store.New(tx)
	if err := closeOut(ctx, st, b); err != nil {
		return err
	}
	if err := b.Check(); err != nil {
		return err
	}
	return st.Save(ctx, b, now)
}

// closeOut makes what the new marks do to all cost of their pieces, and what the earlier
// ones do to the new cost.
func closeOut(ctx context.Context, st store.Store, b *costing.Book) error {
	fresh := b.Costs()
	earlier, err := st.Marks(ctx, b.Pieces())
	if err != nil {
		return err
	}
	before := costing.Moves(earlier)
	if len(b.Marks) > 0 {
		var marked []id.ID
		for _, m := range b.Marks {
			marked = append(marked, m.Piece)
		}
		old, err := st.Costs(ctx, marked)
		if err != nil {
			return err
		}
		now := costing.Moves(append(slices.Clone(earlier), b.Marks...))
		pair(b, added(now, before), append(old, fresh...))
	}
	pair(b, before, fresh)
	return nil
}

// added are the moves of all that are not among those before.
func added(all, before []costing.Move) []costing.Move {
	known := map[id.ID]bool{}
	for _, m := range before {
		known[m.ID] = true
	}
	return slices.DeleteFunc(all, func(m costing.Move) bool { return known[m.ID] })
}

// pair posts one transaction for each move and cost of one piece.
func pair(b *costing.Book, moves []costing.Move, costs []costing.Cost) {
	for _, m := range moves {
		for _, c := range costs {
			if c.Piece == m.Piece {
				b.Post(costing.Close(m, c))
			}
		}
	}
}
