package client

import (
	"context"
	"fmt"
	"strings"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// PieceLot finds a lot of pieces by its name, or by the tag number of one of its pieces.
func (s *Shop) PieceLot(ctx context.Context, ref string) (*intakev1.Lot, error) {
	name := ref
	if !strings.HasPrefix(ref, "lots/") {
		p, err := s.Piece(ctx, ref)
		if err != nil {
			return nil, err
		}
		if name = p.GetPurchase().GetLot(); name == "" {
			return nil, fmt.Errorf("piece %d was not bought in a lot; `shop piece lot list` shows the lots", p.Tag)
		}
	}
	r, err := s.PieceLots.GetLot(ctx, &intakev1.GetLotRequest{Name: name})
	return r.GetLot(), err
}

// SheetsOf reads the cost sheets of a lot's pieces, by piece; one of which the books have not heard yet has none.
func (s *Shop) SheetsOf(ctx context.Context, shares []*intakev1.Lot_Share) (map[string]*costingv1.PieceCost, error) {
	sheets := map[string]*costingv1.PieceCost{}
	for _, share := range shares {
		r, err := s.Costing.GetPieceCost(ctx, &costingv1.GetPieceCostRequest{Piece: share.Piece})
		if err != nil && !fault.Is(err, "PIECE_NOT_FOUND") {
			return nil, err
		}
		sheets[share.Piece] = r.GetPieceCost()
	}
	return sheets, nil
}

// AllPieceLots lists every lot of pieces there has been.
func (s *Shop) AllPieceLots(ctx context.Context) ([]*intakev1.Lot, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*intakev1.Lot, string, error) {
		r, err := s.PieceLots.ListLots(ctx, &intakev1.ListLotsRequest{PageSize: page, PageToken: token})
		return r.GetLots(), r.GetNextPageToken(), err
	})
}

// Set finds a set by its name, or by the tag number of a piece that was last sold in it.
func (s *Shop) Set(ctx context.Context, ref string) (*salesv1.Set, error) {
	name := ref
	if !strings.HasPrefix(ref, "sets/") {
		p, err := s.Piece(ctx, ref)
		if err != nil {
			return nil, err
		}
		l, err := s.Sales.GetListing(ctx, &salesv1.GetListingRequest{Name: "listings/" + strings.TrimPrefix(p.Name, "pieces/")})
		if err != nil {
			return nil, err
		}
		for _, sale := range l.GetListing().GetSales() {
			name = sale.Set
		}
		if name == "" || name == ref {
			return nil, fmt.Errorf("piece %d was not last sold in a set; `shop sale show %d` lists its sales", p.Tag, p.Tag)
		}
	}
	r, err := s.Sets.GetSet(ctx, &salesv1.GetSetRequest{Name: name})
	return r.GetSet(), err
}
