// Package consume is how workflow reacts to what other services say: to intake's
// PieceScrapped, after which no more work is done on the piece. What the floor has told of it
// before it is told of last, so that who watches the floor learns of it there.
package consume

import (
	"context"

	"tackfree/pkg/caller"
	"tackfree/pkg/inbox"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/workflow/internal/store"
)

// Handler implements inbox.Handler.
type Handler struct {
	DB   *pg.DB
	Log  *outbox.Log
	Shop wire.Shop
}

// Apply implements inbox.Handler. Intake's other events are only counted.
func (h Handler) Apply(ctx context.Context, tx *pg.Tx, events []inbox.Event) error {
	for _, e := range events {
		s, scrapped := e.Payload.(*eventsv1.Envelope_PieceScrapped)
		if !scrapped {
			continue
		}
		if err := h.scrap(ctx, tx, e, s.PieceScrapped.GetReason()); err != nil {
			return err
		}
	}
	return nil
}

// scrap stops the work on a piece. One of which the floor has told nothing it tells nothing of.
func (h Handler) scrap(ctx context.Context, tx *pg.Tx, e inbox.Event, reason string) error {
	st := store.New(tx)
	piece, known, err := st.KnownPiece(ctx, e.Aggregate)
	if err != nil {
		return err
	}
	if !known || piece.Scrapped || piece.Version == 0 {
		return st.Scrap(ctx, e.Aggregate)
	}
	piece.Scrapped = true
	piece.Version++
	if err := st.UpdatePiece(ctx, piece); err != nil {
		return err
	}
	ctx = caller.With(ctx, caller.Caller{Actor: e.Actor})
	return h.Log.Append(ctx, tx, outbox.Event{Kind: "piece", Aggregate: piece.ID, Version: piece.Version, Piece: piece.ID, OccurredAt: e.OccurredAt.AsTime(),
		Payload: &eventsv1.WorkStopped{Reason: reason}}, h.Shop.Now())
}

// Restored implements inbox.Handler: intake's log is read again from its beginning, and a
// scrap that the backup did not know is forgotten, or nobody could work on the piece again.
func (h Handler) Restored(ctx context.Context, producer string) error {
	err := h.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).ForgetScraps(ctx) })
	if err != nil {
		return err
	}
	return inbox.Forget(ctx, h.DB, producer)
}
