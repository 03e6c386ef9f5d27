// Package books keeps the books: it saves what events and rates put into them, and proves
// them by recomputing everything from the producers' events.
//
//	live events ─▶ Keep ─▶ live tables ◀─ swap ─┐
//	producers' logs ─▶ Keep ─▶ shadow tables ───┴─ compare ─▶ differences
package books

import (
	"context"
	"time"

	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// Keep settles what the book's facts decide together with those before them, checks that
// every transaction adds up to zero, and saves it in the transaction.
func Keep(ctx context.Context, tx *pg.Tx, b *costing.Book, now time.Time) error {
	st := store.New(tx)
	if err := weeks(ctx, st, b); err != nil {
		return err
	}
	if err := machines(ctx, st, b); err != nil {
		return err
	}
	if err := lots(ctx, st, b); err != nil {
		return err
	}
	if err := place(ctx, st, b); err != nil { // last, for what is settled before it costs too
		return err
	}
	if err := b.Check(); err != nil {
		return err
	}
	return st.Save(ctx, b, now)
}
