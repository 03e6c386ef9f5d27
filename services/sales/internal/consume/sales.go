package consume

import (
	"context"
	"fmt"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/sales/internal/advice"
)

// listed notes that a piece was put up for sale, and at what price.
func (b *batch) listed(ctx context.Context, e inbox.Event, told *eventsv1.PieceListed) error {
	piece, err := b.of(e)
	if err != nil {
		return err
	}
	asked, err := b.amount("the asking price", told.GetAskingPrice())
	if err != nil {
		return err
	}
	return b.st.NoteListed(ctx, piece, wire.NameKey(told.GetChannel()), asked, at(e))
}

// askedOtherwise notes that another price is asked.
func (b *batch) askedOtherwise(ctx context.Context, e inbox.Event, told *eventsv1.AskingPriceChanged) error {
	piece, err := b.of(e)
	if err != nil {
		return err
	}
	asked, err := b.amount("the asking price", told.GetTo())
	if err != nil {
		return err
	}
	return b.st.NoteAskedOtherwise(ctx, piece, asked, at(e))
}

// withdrawn notes that a piece is no longer offered: it was seen unsold until then, and nobody knows how much longer it would
// have stood. On which channels it stood beside the first tells nothing of its price.
func (b *batch) withdrawn(ctx context.Context, e inbox.Event) error {
	piece, err := b.of(e)
	if err != nil {
		return err
	}
	return b.st.NoteWithdrawn(ctx, piece, at(e))
}

// sold notes a sale.
func (b *batch) sold(ctx context.Context, e inbox.Event, told *eventsv1.PieceSold) error {
	piece, err := b.of(e)
	if err != nil {
		return err
	}
	sale, err := id.Parse(told.GetSaleId())
	if err != nil {
		return fmt.Errorf("sale: %w", err)
	}
	of := advice.Sale{ID: sale, Piece: piece, Channel: wire.NameKey(told.GetChannel()), SoldAt: at(e)}
	if told.GetSetId() != "" {
		if of.Set, err = id.Parse(told.GetSetId()); err != nil {
			return fmt.Errorf("set: %w", err)
		}
	}
	if of.Price, err = b.amount("the price", told.GetPrice()); err != nil {
		return err
	}
	return b.st.NoteSold(ctx, of)
}

// refunded notes what went back, of the money and the piece.
func (b *batch) refunded(ctx context.Context, e inbox.Event, told *eventsv1.SaleRefunded) error {
	if _, err := b.of(e); err != nil {
		return err
	}
	sale, err := id.Parse(told.GetSaleId())
	if err != nil {
		return fmt.Errorf("sale: %w", err)
	}
	var price money.Amount
	if price, err = b.amount("the price", told.GetPrice()); err != nil {
		return err
	}
	return b.st.NoteRefunded(ctx, sale, price, told.GetPieceReturned())
}
