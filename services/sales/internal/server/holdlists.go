package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// which reads what of a list is wanted.
func which(token string, size int32, piece, state string) (w store.Which, err error) {
	w = store.Which{Before: store.Newest, State: state, Limit: page.Size(size)}
	if err := page.Read(token, &w.Before); err != nil || piece == "" {
		return w, err
	}
	w.Piece, err = id.One("piece", piece, "pieces")
	return w, err
}

// ListHolds implements HoldService.
func (s *Server) ListHolds(ctx context.Context, r *salesv1.ListHoldsRequest) (*salesv1.ListHoldsResponse, error) {
	w, err := which(r.PageToken, r.PageSize, r.Piece, stateOf(holdStates, r.State))
	if err != nil {
		return nil, err
	}
	var holds []sales.Hold
	var deposits []sales.Deposit
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if holds, err = st.Holds(ctx, w); err != nil {
			return err
		}
		ids := make([]id.ID, len(holds))
		for i, h := range holds {
			ids[i] = h.ID
		}
		deposits, err = st.DepositsOf(ctx, ids...)
		return err
	})
	if err != nil {
		return nil, err
	}
	of := map[id.ID][]sales.Deposit{}
	for _, d := range deposits {
		of[d.Hold] = append(of[d.Hold], d)
	}
	out := &salesv1.ListHoldsResponse{NextPageToken: page.Next(holds, w.Limit, func(h sales.Hold) any { return h.ID })}
	for _, h := range holds {
		out.Holds = append(out.Holds, s.encodeHold(h, of[h.ID]))
	}
	return out, nil
}

// ListDeposits implements DepositService.
func (s *Server) ListDeposits(ctx context.Context, r *salesv1.ListDepositsRequest) (*salesv1.ListDepositsResponse, error) {
	w, err := which(r.PageToken, r.PageSize, r.Piece, stateOf(depositStates, r.State))
	if err != nil {
		return nil, err
	}
	var deposits []sales.Deposit
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		deposits, err = store.New(q).Deposits(ctx, w)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &salesv1.ListDepositsResponse{NextPageToken: page.Next(deposits, w.Limit, func(d sales.Deposit) any { return d.ID })}
	for _, d := range deposits {
		out.Deposits = append(out.Deposits, s.encodeDeposit(d))
	}
	return out, nil
}

// ListOffers implements OfferService.
func (s *Server) ListOffers(ctx context.Context, r *salesv1.ListOffersRequest) (*salesv1.ListOffersResponse, error) {
	w, err := which(r.PageToken, r.PageSize, r.Piece, stateOf(offerStates, r.State))
	if err != nil {
		return nil, err
	}
	now := s.Shop.Now()
	var offers []sales.Offer
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		offers, err = store.New(q).Offers(ctx, w, now)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &salesv1.ListOffersResponse{NextPageToken: page.Next(offers, w.Limit, func(o sales.Offer) any { return o.ID })}
	for _, o := range offers {
		out.Offers = append(out.Offers, s.encodeOffer(o, now))
	}
	return out, nil
}
