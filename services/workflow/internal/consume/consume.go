// Package consume is how workflow reacts to what other services say: to intake's
// PieceScrapped, after which no more work is done on the piece.
package consume

import (
	"context"

	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/workflow/internal/store"
)

// Handler implements inbox.Handler.
type Handler struct{ DB *pg.DB }

// Apply implements inbox.Handler. Intake's other events are only counted.
func (h Handler) Apply(ctx context.Context, tx *pg.Tx, events []inbox.Event) error {
	for _, e := range events {
		if _, scrapped := e.Payload.(*eventsv1.Envelope_PieceScrapped); !scrapped {
			continue
		}
		if err := store.New(tx).Scrap(ctx, e.Aggregate); err != nil {
			return err
		}
	}
	return nil
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
