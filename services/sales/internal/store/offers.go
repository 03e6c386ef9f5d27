package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store/storedb"
)

// InsertOffer writes a new offer.
func (s Store) InsertOffer(ctx context.Context, o sales.Offer) error {
	return s.q.InsertOffer(ctx, storedb.InsertOfferParams{ID: o.ID, PieceID: o.Piece, State: string(o.State), Buyer: o.Buyer, Price: int64(o.Price),
		Channel: o.Channel, OfferedAt: o.OfferedAt, UntilAt: orNil(o.Until), Note: o.Note})
}

// UpdateOffer writes what may change of an offer.
func (s Store) UpdateOffer(ctx context.Context, o sales.Offer) error {
	return s.q.UpdateOffer(ctx, storedb.UpdateOfferParams{ID: o.ID, State: string(o.State), CounterPrice: int64(o.Counter), UntilAt: orNil(o.Until),
		EndedAt: orNil(o.EndedAt), Reason: o.Reason, HoldID: nullable(o.Hold)})
}

// LockOfOffer is Lock for the piece of an offer, which it reads too. Fault: BUYER_OFFER_NOT_FOUND.
func (s Store) LockOfOffer(ctx context.Context, offer id.ID) (l sales.Listing, o sales.Offer, err error) {
	if l, err = s.lockOf(ctx, s.q.PieceOfOffer, offer, sales.ErrNoOffer); err != nil {
		return l, o, err
	}
	o, err = s.Offer(ctx, offer)
	return l, o, err
}

// Offer reads an offer. Fault: BUYER_OFFER_NOT_FOUND.
func (s Store) Offer(ctx context.Context, offer id.ID) (sales.Offer, error) {
	row, err := s.q.GetOffer(ctx, offer)
	if errors.Is(err, pgx.ErrNoRows) {
		return sales.Offer{}, sales.ErrNoOffer
	}
	return fromOfferRow(storedb.ListOffersRow(row)), err
}

// Offers reads offers, the newest first. Which have lapsed is told by now.
func (s Store) Offers(ctx context.Context, w Which, now time.Time) (out []sales.Offer, err error) {
	rows, err := s.q.ListOffers(ctx, storedb.ListOffersParams{BeforeID: w.Before, OfPiece: nullable(w.Piece), InState: w.State, Now: &now, PageLimit: w.Limit})
	for _, row := range rows {
		out = append(out, fromOfferRow(row))
	}
	return out, err
}

// OpenOffers reads those for a piece that are open and have not lapsed, the oldest first.
func (s Store) OpenOffers(ctx context.Context, piece id.ID, now time.Time) (out []sales.Offer, err error) {
	rows, err := s.q.OpenOffers(ctx, storedb.OpenOffersParams{PieceID: piece, Now: now})
	for _, row := range rows {
		out = append(out, fromOfferRow(storedb.ListOffersRow(row)))
	}
	return out, err
}

func fromOfferRow(row storedb.ListOffersRow) sales.Offer {
	return sales.Offer{ID: row.ID, Piece: row.PieceID, Tag: row.Tag, State: sales.OfferState(row.State), Buyer: row.Buyer, Price: money.Amount(row.Price),
		Counter: money.Amount(row.CounterPrice), Channel: row.Channel, OfferedAt: row.OfferedAt.UTC(), Until: orZero(row.UntilAt), Note: row.Note,
		EndedAt: orZero(row.EndedAt), Reason: row.Reason, Hold: row.HoldID.UUID}
}
