package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// RecordOffer implements OfferService.
func (s *Server) RecordOffer(ctx context.Context, r *salesv1.RecordOfferRequest) (*salesv1.RecordOfferResponse, error) {
	now := s.Shop.Now()
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	said, err := s.decodeOffer(r)
	if err != nil {
		return nil, err
	}
	piece, pieceErr := s.piece(ctx, pieceID)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.RecordOfferResponse, error) {
		if pieceErr != nil {
			return nil, pieceErr
		}
		st := store.New(tx)
		l, err := st.LockOrMake(ctx, piece)
		if err != nil {
			return nil, err
		}
		o, err := l.Record(piece, said, now)
		if err != nil {
			return nil, err
		}
		if err := st.InsertOffer(ctx, o); err != nil {
			return nil, err
		}
		if err := st.Update(ctx, l); err != nil {
			return nil, err
		}
		e := &eventsv1.OfferMade{OfferId: o.ID.String(), Buyer: o.Buyer, Price: s.Shop.ToMoney(o.Price), UntilTime: wire.ToInstant(o.Until), Channel: o.Channel, Note: o.Note}
		return &salesv1.RecordOfferResponse{Offer: s.encodeOffer(o, now)}, s.append(ctx, tx, l, o.OfferedAt, now, e)
	})
}

func (s *Server) decodeOffer(r *salesv1.RecordOfferRequest) (o sales.Offer, err error) {
	o = sales.Offer{ID: id.New(), Buyer: wire.Name(r.Buyer), Channel: wire.Name(r.Channel), Note: r.Note}
	if o.Price, err = s.Shop.Money("price", r.Price); err != nil {
		return o, err
	}
	if o.Until, err = ahead(r.UntilTime); err != nil {
		return o, err
	}
	o.OfferedAt, err = s.Shop.Instant("offer_time", r.OfferTime)
	return o, err
}

// withOffer gives a command the offer that it names, and writes offer and listing after it.
func withOffer[R proto.Message](ctx context.Context, s *Server, r once.Command, name string, now time.Time,
	do func(context.Context, *pg.Tx, *sales.Listing, *sales.Offer) (proto.Message, error), answer func(*salesv1.Offer) R) (none R, err error) {
	offer, err := id.One("offer", name, "offers")
	if err != nil {
		return none, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (none R, err error) {
		st := store.New(tx)
		l, o, err := st.LockOfOffer(ctx, offer)
		if err != nil {
			return none, err
		}
		e, err := do(ctx, tx, &l, &o)
		if err != nil {
			return none, err
		}
		if err := st.UpdateOffer(ctx, o); err != nil {
			return none, err
		}
		if err := st.Update(ctx, l); err != nil {
			return none, err
		}
		return answer(s.encodeOffer(o, now)), s.append(ctx, tx, l, asKept(now), now, e)
	})
}

// CounterOffer implements OfferService.
func (s *Server) CounterOffer(ctx context.Context, r *salesv1.CounterOfferRequest) (*salesv1.CounterOfferResponse, error) {
	now := s.Shop.Now()
	price, err := s.Shop.Money("price", r.Price)
	if err != nil {
		return nil, err
	}
	until, err := ahead(r.UntilTime)
	if err != nil {
		return nil, err
	}
	return withOffer(ctx, s, r, r.Offer, now, func(_ context.Context, _ *pg.Tx, l *sales.Listing, o *sales.Offer) (proto.Message, error) {
		if err := l.CounterOffer(o, price, until, now); err != nil {
			return nil, err
		}
		return &eventsv1.OfferMade{OfferId: o.ID.String(), Buyer: o.Buyer, Price: s.Shop.ToMoney(price), Counter: true, UntilTime: wire.ToInstant(until)}, nil
	}, func(o *salesv1.Offer) *salesv1.CounterOfferResponse { return &salesv1.CounterOfferResponse{Offer: o} })
}

// DeclineOffer implements OfferService.
func (s *Server) DeclineOffer(ctx context.Context, r *salesv1.DeclineOfferRequest) (*salesv1.DeclineOfferResponse, error) {
	return withOffer(ctx, s, r, r.Offer, s.Shop.Now(), s.ending(sales.OfferDeclined, r.Reason),
		func(o *salesv1.Offer) *salesv1.DeclineOfferResponse { return &salesv1.DeclineOfferResponse{Offer: o} })
}

// WithdrawOffer implements OfferService.
func (s *Server) WithdrawOffer(ctx context.Context, r *salesv1.WithdrawOfferRequest) (*salesv1.WithdrawOfferResponse, error) {
	return withOffer(ctx, s, r, r.Offer, s.Shop.Now(), s.ending(sales.OfferWithdrawn, r.Reason),
		func(o *salesv1.Offer) *salesv1.WithdrawOfferResponse { return &salesv1.WithdrawOfferResponse{Offer: o} })
}

// ending ends an offer that comes to nothing.
func (s *Server) ending(how sales.OfferState, reason string) func(context.Context, *pg.Tx, *sales.Listing, *sales.Offer) (proto.Message, error) {
	return func(_ context.Context, _ *pg.Tx, l *sales.Listing, o *sales.Offer) (proto.Message, error) {
		return s.offerEnded(*o, how, reason), l.EndOffer(o, how, reason, asKept(s.Shop.Now()))
	}
}

func (s *Server) offerEnded(o sales.Offer, how sales.OfferState, reason string) *eventsv1.OfferEnded {
	return &eventsv1.OfferEnded{OfferId: o.ID.String(), Buyer: o.Buyer, How: offerHows[how], Reason: reason, Price: s.Shop.ToMoney(o.Said())}
}

// passOver ends all that is still offered for a piece that was held or sold without them, or that is not for sale any more. The listing is to be
// written afterwards.
func (s *Server) passOver(ctx context.Context, tx *pg.Tx, l *sales.Listing, now time.Time) error {
	st := store.New(tx)
	offers, err := st.OpenOffers(ctx, l.Piece, now)
	if err != nil {
		return err
	}
	for _, o := range offers {
		if err := l.EndOffer(&o, sales.OfferPassedOver, "", asKept(now)); err != nil {
			return err
		}
		if err := st.UpdateOffer(ctx, o); err != nil {
			return err
		}
		if err := s.append(ctx, tx, *l, asKept(now), now, s.offerEnded(o, sales.OfferPassedOver, "")); err != nil {
			return err
		}
	}
	return nil
}
