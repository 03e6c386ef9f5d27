package server

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/internal/materials"
)

func decodeLot(name string) (product, lot id.ID, err error) {
	ids, err := id.FromName("lot", name, "products", "lots")
	if err != nil {
		return product, lot, err
	}
	return ids[0], ids[1], nil
}

// openLot locks the shelf of a product for what is done to one of its lots. Faults:
// PRODUCT_NOT_FOUND, LOT_NOT_FOUND.
func (s *Server) openLot(ctx context.Context, tx *pg.Tx, now time.Time, product, lot id.ID) (*noting, materials.Lot, error) {
	n, err := s.open(ctx, tx, now, product, []id.ID{lot})
	if err != nil {
		return nil, materials.Lot{}, err
	}
	l, err := n.shelf.Lot(lot)
	return n, l, err
}

// partly reads how much of a lot is meant; nil: all of it.
func partly(packs *materialsv1.ReceiveStockRequest_Packages, q *typev1.Quantity) (*materials.Packed, error) {
	if packs == nil && q == nil {
		return nil, nil
	}
	p, err := packed("", packs, q)
	return &p, err
}

// OpenPackage implements StockService.
func (s *Server) OpenPackage(ctx context.Context, r *materialsv1.OpenPackageRequest) (*materialsv1.OpenPackageResponse, error) {
	now := s.Shop.Now()
	product, lotID, err := decodeLot(r.Lot)
	if err != nil {
		return nil, err
	}
	amount, err := partly(r.GetPackages(), r.GetQuantity())
	if err != nil {
		return nil, err
	}
	at, err := s.Shop.Instant("open_time", r.OpenTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.OpenPackageResponse, error) {
		n, lot, err := s.openLot(ctx, tx, now, product, lotID)
		if err != nil {
			return nil, err
		}
		e, err := n.shelf.Product.Open(lot, n.entry(ctx, at, r.OpenTime), amount)
		if err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, e); err != nil {
			return nil, err
		}
		out, err := s.lotNow(ctx, tx, n.shelf, e.Into)
		return &materialsv1.OpenPackageResponse{Lot: out, Recostings: s.encodeRecosted(n)}, err
	})
}

// MoveLot implements StockService.
func (s *Server) MoveLot(ctx context.Context, r *materialsv1.MoveLotRequest) (*materialsv1.MoveLotResponse, error) {
	now := s.Shop.Now()
	product, lotID, err := decodeLot(r.Lot)
	if err != nil {
		return nil, err
	}
	amount, err := partly(nil, r.Quantity)
	if err != nil {
		return nil, err
	}
	word, err := placeWord("place", r.Place)
	if err != nil {
		return nil, err
	}
	at, err := s.Shop.Instant("move_time", r.MoveTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.MoveLotResponse, error) {
		n, lot, err := s.openLot(ctx, tx, now, product, lotID)
		if err != nil {
			return nil, err
		}
		e := n.entry(ctx, at, r.MoveTime)
		if e.Place, err = s.placeOf(ctx, tx, word); err != nil {
			return nil, err
		}
		if e, err = n.shelf.Product.Move(lot, e, amount); err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, e); err != nil {
			return nil, err
		}
		moved := e.Into
		if moved == id.Nil {
			moved = lotID
		}
		out, err := s.lotNow(ctx, tx, n.shelf, moved)
		return &materialsv1.MoveLotResponse{Lot: out, Recostings: s.encodeRecosted(n)}, err
	})
}

// CloseLot implements StockService.
func (s *Server) CloseLot(ctx context.Context, r *materialsv1.CloseLotRequest) (*materialsv1.CloseLotResponse, error) {
	now := s.Shop.Now()
	product, lotID, err := decodeLot(r.Lot)
	if err != nil {
		return nil, err
	}
	at, err := s.Shop.Instant("close_time", r.CloseTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.CloseLotResponse, error) {
		n, lot, err := s.openLot(ctx, tx, now, product, lotID)
		if err != nil {
			return nil, err
		}
		e := n.entry(ctx, at, r.CloseTime)
		e.Reason = r.Reason
		if e, err = lot.Close(e); err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, e); err != nil {
			return nil, err
		}
		out, err := s.lotNow(ctx, tx, n.shelf, lotID)
		return &materialsv1.CloseLotResponse{Lot: out, Recostings: s.encodeRecosted(n)}, err
	})
}
