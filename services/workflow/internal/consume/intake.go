package consume

import (
	"context"

	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/workflow/internal/store"
)

// scrap stops the work on a piece. One of which the floor has told nothing it tells nothing of; what
// the floor has told of it before it is told of last, so that who watches the floor learns of it there.
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
	return h.tell(ctx, tx, e, piece, &eventsv1.WorkStopped{Reason: reason})
}
