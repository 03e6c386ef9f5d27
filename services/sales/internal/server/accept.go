package server

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// AcceptOffer implements OfferService: the offer is accepted, the piece held and its deposit taken in one transaction.
func (s *Server) AcceptOffer(ctx context.Context, r *salesv1.AcceptOfferRequest) (*salesv1.AcceptOfferResponse, error) {
	now := s.Shop.Now()
	offer, err := id.One("offer", r.Offer, "offers")
	if err != nil {
		return nil, err
	}
	hold := sales.Hold{ID: id.New(), HeldAt: asKept(now), Rule: rules[r.LapseRule]}
	if hold.Until, err = ahead(r.UntilTime); err != nil {
		return nil, err
	}
	given, err := s.decodeGiven(r.Deposit, "", hold.HeldAt)
	if err != nil {
		return nil, err
	}
	piece, pieceErr := s.pieceOfOffer(ctx, offer)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.AcceptOfferResponse, error) {
		if pieceErr != nil {
			return nil, pieceErr
		}
		l, o, err := store.New(tx).LockOfOffer(ctx, offer)
		if err != nil {
			return nil, err
		}
		if err := s.over(ctx, tx, &l, now); err != nil {
			return nil, err
		}
		if err := l.Accept(piece, &o, hold); err != nil {
			return nil, err
		}
		deposits, err := s.accepted(ctx, tx, &l, piece, o, given, now)
		return &salesv1.AcceptOfferResponse{Offer: s.encodeOffer(o, now), Hold: s.encodeHold(l.Hold, deposits), Listing: s.encode(l)}, err
	})
}

// accepted writes an offer that was accepted with the hold that it came to, and what that means to the other offers.
func (s *Server) accepted(ctx context.Context, tx *pg.Tx, l *sales.Listing, piece sales.Piece, o sales.Offer, given *sales.Deposit, now time.Time) ([]sales.Deposit, error) {
	st := store.New(tx)
	if given != nil {
		from := *given
		from.From, given = o.Buyer, &from
	}
	deposits, err := s.keep(ctx, tx, l, piece, given, &eventsv1.PieceHeld{OfferId: o.ID.String()}, now)
	if err != nil {
		return nil, err
	}
	if err := st.UpdateOffer(ctx, o); err != nil {
		return nil, err
	}
	l.Version++
	if err := s.append(ctx, tx, *l, o.EndedAt, now, s.offerEnded(o, sales.OfferAccepted, "")); err != nil {
		return nil, err
	}
	if err := s.passOver(ctx, tx, l, now); err != nil {
		return nil, err
	}
	return deposits, st.Update(ctx, *l)
}

// pieceOfOffer asks intake for the piece of an offer, before the transaction. Fault: BUYER_OFFER_NOT_FOUND.
func (s *Server) pieceOfOffer(ctx context.Context, offer id.ID) (piece sales.Piece, err error) {
	var o sales.Offer
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		o, err = store.New(q).Offer(ctx, offer)
		return err
	})
	if err != nil {
		return piece, err
	}
	return s.piece(ctx, o.Piece)
}
