// Package consume is how workflow reacts to what other services say: to intake's PieceTakenIn,
// with which the piece is on the board before anybody plans it, and to its PieceScrapped, after
// which no more work is done on the piece. What the floor has told of it before it is told of
// last, so that who watches the floor learns of it there.
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
	DB     *pg.DB
	Schema string // that of DB
	Log    *outbox.Log
	Shop   wire.Shop
}

// Apply implements inbox.Handler. Intake's other events are only counted.
func (h Handler) Apply(ctx context.Context, tx *pg.Tx, events []inbox.Event) error {
	for _, e := range events {
		if err := h.apply(ctx, tx, e); err != nil {
			return err
		}
	}
	return nil
}

func (h Handler) apply(ctx context.Context, tx *pg.Tx, e inbox.Event) error {
	switch p := e.Payload.(type) {
	case *eventsv1.Envelope_PieceTakenIn:
		return store.New(tx).TakeIn(ctx, e.Aggregate, p.PieceTakenIn.GetTag(), e.OccurredAt.AsTime())
	case *eventsv1.Envelope_PieceScrapped:
		return h.scrap(ctx, tx, e, p.PieceScrapped.GetReason())
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
	if err := st.Scrap(ctx, e.Aggregate, e.OccurredAt.AsTime()); err != nil || !known || piece.Scrapped || piece.Version == 0 {
		return err
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
// scrap that the backup did not know is forgotten, or nobody could work on the piece again; and
// so is that a piece was taken in with which nothing was done, or it would stay on the board.
func (h Handler) Restored(ctx context.Context, producer string) error {
	err := h.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).ForgetIntake(ctx) })
	if err != nil {
		return err
	}
	return inbox.Forget(ctx, h.DB, h.Schema, producer)
}
