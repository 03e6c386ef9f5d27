// Package consume is how workflow reacts to what other services say: to intake's PieceTakenIn,
// with which the piece is on the board before anybody plans it, and to its PieceScrapped, after
// which no more work is done on the piece; to sales' PieceSold, with which the piece leaves the floor,
// and to a SaleRefunded with which it comes back.
//
//	intake: taken in, scrapped ─▶ piece.taken_in_at, .scrapped ─┐
//	sales:  sold, returned ─────▶ piece.sold_at ────────────────┴▶ told to who watches the floor, if it is
//	                                                               otherwise on the board than before
//
// Each column is written from one producer's events, which come in their order for a piece; so it is the
// same in whatever order the producers are heard. Both are followed from the beginning of their logs, which
// keep every event: what happened before the floor followed is read there when the program starts.
package consume

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/inbox"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// Handler implements inbox.Handler.
type Handler struct {
	DB     *pg.DB
	Schema string // that of DB
	Log    *outbox.Log
	Shop   wire.Shop
}

// Apply implements inbox.Handler. Other events of intake and sales are only counted.
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
	case *eventsv1.Envelope_PieceSold:
		return h.sold(ctx, tx, e, e.OccurredAt.AsTime())
	case *eventsv1.Envelope_SaleRefunded:
		if p.SaleRefunded.GetPieceReturned() {
			return h.sold(ctx, tx, e, time.Time{})
		}
	}
	return nil
}

// tell adds an event about a piece to the floor's own, in the name of whoever did what it follows from.
func (h Handler) tell(ctx context.Context, tx *pg.Tx, e inbox.Event, piece workflow.Piece, payload proto.Message) error {
	piece.Version++
	if err := store.New(tx).UpdatePiece(ctx, piece); err != nil {
		return err
	}
	ctx = caller.With(ctx, caller.Caller{Actor: e.Actor})
	return h.Log.Append(ctx, tx, outbox.Event{Kind: "piece", Aggregate: piece.ID, Version: piece.Version, Piece: piece.ID, OccurredAt: e.OccurredAt.AsTime(),
		Payload: payload}, h.Shop.Now())
}

// Restored implements inbox.Handler: the producer's log is read again from its beginning, and a
// scrap or a sale that the backup did not know is forgotten, or nobody could work on the piece again;
// and so is that a piece was taken in with which nothing was done, or it would stay on the board.
func (h Handler) Restored(ctx context.Context, producer string) error {
	err := h.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		if producer == "sales" {
			return store.New(tx).ForgetSales(ctx)
		}
		return store.New(tx).ForgetIntake(ctx)
	})
	if err != nil {
		return err
	}
	return inbox.Forget(ctx, h.DB, h.Schema, producer)
}
