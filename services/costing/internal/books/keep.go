// Package books keeps the books: it saves what events and rates put into them, and proves
// them by recomputing everything from the producers' events.
//
//	live events ─▶ Keep ────────────────────────────▶ live tables ◀─ swap ─┐
//	producers' logs ─▶ KeepForLater ─▶ settle, once ─▶ shadow tables ──────┴─ compare ─▶ differences
//
// Of a group's lines it is compared what they come to, not which event each names as its cause: that is the one
// which came last of those it was settled with, so it says how events arrived, and books that got them in another
// order, or more of them at once, name others and are as right.
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
	for _, settle := range []settler{
		weeks, machines, lots,
		place, // last, for what is settled before it costs too
	} {
		if err := settle(ctx, st, b); err != nil {
			return err
		}
	}
	return save(ctx, st, b, now)
}

// KeepForLater is Keep, but what can be settled at the end of many books is left to then, once the
// transaction is committed: what is refused causes nothing.
func KeepForLater(ctx context.Context, tx *pg.Tx, b *costing.Book, later *costing.Unsettled, now time.Time) error {
	st := store.New(tx)
	if err := lots(ctx, st, b); err != nil {
		return err
	}
	tx.After(func() { b.PutOff(later) })
	return save(ctx, st, b, now)
}

func save(ctx context.Context, st store.Store, b *costing.Book, now time.Time) error {
	if err := b.Check(); err != nil {
		return err
	}
	return st.Save(ctx, b, now)
}
