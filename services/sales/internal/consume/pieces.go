package consume

import (
	"context"
	"fmt"

	"tackfree/pkg/inbox"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/sales/internal/advice"
	"tackfree/services/sales/internal/store"
)

// takenIn notes what a piece is, and whether it is the shop's own.
func (b *batch) takenIn(ctx context.Context, e inbox.Event, told *eventsv1.PieceTakenIn) error {
	piece, err := b.of(e)
	if err != nil {
		return err
	}
	origin := store.Stock
	switch {
	case told.GetCommission() != nil:
		origin = store.Commission
	case told.GetPurchase() == nil:
		return fmt.Errorf("the piece has neither a purchase nor a client")
	}
	return b.st.NoteTakenIn(ctx, advice.Piece{ID: piece, Tag: told.GetTag(), Title: told.GetTitle(), Kind: wire.NameKey(told.GetKind()),
		Size: told.GetSize(), Condition: told.GetCondition()}, origin)
}

// scrapped notes when a piece was given up.
func (b *batch) scrapped(ctx context.Context, e inbox.Event) error {
	piece, err := b.of(e)
	if err != nil {
		return err
	}
	return b.st.NoteScrapped(ctx, piece, at(e))
}

// looks notes how a piece is to look, or which route it takes, if the event tells.
func (b *batch) looks(ctx context.Context, e inbox.Event, look string) error {
	if look == "" {
		return nil
	}
	piece, err := b.of(e)
	if err != nil {
		return err
	}
	return b.st.NoteLook(ctx, piece, wire.NameKey(look))
}
