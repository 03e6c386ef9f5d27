package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// lockAt is the listing of a piece, kept from others until the transaction ends, if it is as its reader saw it. Faults:
// LISTING_NOT_FOUND, ETAG_MISMATCH.
func lockAt(ctx context.Context, st store.Store, piece id.ID, etag string) (sales.Listing, error) {
	l, err := st.Lock(ctx, piece)
	if err != nil {
		return l, err
	}
	return l, wire.CheckEtag(etag, l.Version)
}

// WithdrawListing implements ListingService.
func (s *Server) WithdrawListing(ctx context.Context, r *salesv1.WithdrawListingRequest) (*salesv1.WithdrawListingResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("withdraw_time", r.WithdrawTime)
	if err != nil {
		return nil, err
	}
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.WithdrawListingResponse, error) {
		st := store.New(tx)
		l, err := lockAt(ctx, st, piece, r.Etag)
		if err != nil {
			return nil, err
		}
		if err := s.over(ctx, tx, &l, now); err != nil {
			return nil, err
		}
		e := &eventsv1.ListingWithdrawn{Channels: l.Channels(), AskingPrice: s.Shop.ToMoney(l.AskingPrice), Reason: r.Reason}
		if err := l.Withdraw(at.In(s.Shop.Zone), r.Reason); err != nil {
			return nil, err
		}
		if err := s.append(ctx, tx, l, at, now, e); err != nil {
			return nil, err
		}
		if err := s.passOver(ctx, tx, &l, now); err != nil {
			return nil, err
		}
		return &salesv1.WithdrawListingResponse{Listing: s.encode(l)}, st.Update(ctx, l)
	})
}

// ChangeListingChannels implements ListingService.
func (s *Server) ChangeListingChannels(ctx context.Context, r *salesv1.ChangeListingChannelsRequest) (*salesv1.ChangeListingChannelsResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("change_time", r.ChangeTime)
	if err != nil {
		return nil, err
	}
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	add, remove := names(r.Add), names(r.Remove)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.ChangeListingChannelsResponse, error) {
		st := store.New(tx)
		l, err := lockAt(ctx, st, piece, r.Etag)
		if err != nil {
			return nil, err
		}
		if err := open(ctx, st, "add", add); err != nil {
			return nil, err
		}
		if err := l.ChangeChannels(add, remove, wire.NameKey); err != nil {
			return nil, err
		}
		if err := st.Update(ctx, l); err != nil {
			return nil, err
		}
		e := &eventsv1.ListingChannelsChanged{Channels: l.Channels(), Added: add, Removed: remove}
		return &salesv1.ChangeListingChannelsResponse{Listing: s.encode(l)}, s.append(ctx, tx, l, at, now, e)
	})
}

// names reads names that people typed.
func names(typed []string) []string {
	out := make([]string, len(typed))
	for i, name := range typed {
		out[i] = wire.Name(name)
	}
	return out
}
