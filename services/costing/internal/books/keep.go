// Package books keeps the books: it saves what events and rates put into them, and proves
// them by recomputing everything from the producers' events.
//
//	live events ─▶ Keep ─▶ live tables ◀─ swap ─┐
//	producers' logs ─▶ Keep ─▶ shadow tables ───┴─ compare ─▶ differences
package books

import (
	"context"
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

// closeOut pairs the new marks with all cost of their pieces, and the new cost with the
// earlier marks.
func closeOut(ctx context.Context, st store.Store, b *costing.Book) error {
	fresh := b.Costs()
	earlier, err := st.Marks(ctx, b.Pieces())
	if err != nil {
		return err
	}
	all := fresh
	if len(b.Marks) > 0 {
		var marked []id.ID
		for _, m := range b.Marks {
			marked = append(marked, m.Piece)
		}
		old, err := st.Costs(ctx, marked)
		if err != nil {
			return err
		}
		all = append(old, fresh...)
	}
	pair(b, b.Marks, all)
	pair(b, earlier, fresh)
	return nil
}

// pair posts one transaction for each mark and cost of one piece.
func pair(b *costing.Book, marks []costing.Mark, costs []costing.Cost) {
	for _, m := range marks {
		for _, c := range costs {
			if c.Piece == m.Piece {
				b.Post(costing.Close(m, c))
			}
		}
	}
}
