package server

import (
	"context"

	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
)

// CorrectLotCost implements StockService.
func (s *Server) CorrectLotCost(ctx context.Context, r *materialsv1.CorrectLotCostRequest) (*materialsv1.CorrectLotCostResponse, error) {
	now := s.Shop.Now()
	asked, err := s.decodeOnLot(r.Lot, "", nil)
	if err != nil {
		return nil, err
	}
	cost, err := s.Shop.Money("cost", r.Cost)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.CorrectLotCostResponse, error) {
		lot, n, err := s.noteOn(ctx, tx, now, asked, func(_ materials.Product, l materials.Lot, e materials.Entry) (materials.Entry, error) {
			e.Reason = r.Reason
			return l.CorrectCost(e, cost)
		})
		if err != nil {
			return nil, err
		}
		return &materialsv1.CorrectLotCostResponse{Lot: lot, Product: s.encode(n.shelf.Product), Recostings: s.encodeRecosted(n)}, nil
	})
}
