package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

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

// onLot is what is done to a lot, and when.
type onLot struct {
	product, lot id.ID
	at           time.Time
	said         *timestamppb.Timestamp
}

func (s *Server) decodeOnLot(lot, field string, at *timestamppb.Timestamp) (o onLot, err error) {
	o.said = at
	if o.product, o.lot, err = decodeLot(lot); err != nil {
		return o, err
	}
	o.at, err = s.Shop.Instant(field, at)
	return o, err
}

// noteOn notes an entry that is made of a lot as it is, and gives the lot that it made or is of.
func (s *Server) noteOn(ctx context.Context, tx *pg.Tx, now time.Time, o onLot, entry func(materials.Product, materials.Lot, materials.Entry) (materials.Entry, error)) (*materialsv1.Lot, *noting, error) {
	n, lot, err := s.openLot(ctx, tx, now, o.product, o.lot)
	if err != nil {
		return nil, nil, err
	}
	e, err := entry(n.shelf.Product, lot, n.entry(ctx, o.at, o.said))
	if err != nil {
		return nil, nil, err
	}
	if err := s.post(ctx, tx, n, e); err != nil {
		return nil, nil, err
	}
	made := e.Into
	if made == id.Nil {
		made = o.lot
	}
	out, err := s.lotNow(ctx, tx, n.shelf, made)
	return out, n, err
}

// OpenPackage implements StockService.
func (s *Server) OpenPackage(ctx context.Context, r *materialsv1.OpenPackageRequest) (*materialsv1.OpenPackageResponse, error) {
	now := s.Shop.Now()
	asked, err := s.decodeOnLot(r.Lot, "open_time", r.OpenTime)
	if err != nil {
		return nil, err
	}
	amount, err := partly(r.GetPackages(), r.GetQuantity())
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.OpenPackageResponse, error) {
		lot, n, err := s.noteOn(ctx, tx, now, asked, func(p materials.Product, l materials.Lot, e materials.Entry) (materials.Entry, error) {
			return p.Open(l, e, amount)
		})
		if err != nil {
			return nil, err
		}
		return &materialsv1.OpenPackageResponse{Lot: lot, Recostings: s.encodeRecosted(n)}, nil
	})
}

// MoveLot implements StockService.
func (s *Server) MoveLot(ctx context.Context, r *materialsv1.MoveLotRequest) (*materialsv1.MoveLotResponse, error) {
	now := s.Shop.Now()
	asked, err := s.decodeOnLot(r.Lot, "move_time", r.MoveTime)
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
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.MoveLotResponse, error) {
		place, err := s.placeOf(ctx, tx, word)
		if err != nil {
			return nil, err
		}
		lot, n, err := s.noteOn(ctx, tx, now, asked, func(p materials.Product, l materials.Lot, e materials.Entry) (materials.Entry, error) {
			e.Place = place
			return p.Move(l, e, amount)
		})
		if err != nil {
			return nil, err
		}
		return &materialsv1.MoveLotResponse{Lot: lot, Recostings: s.encodeRecosted(n)}, nil
	})
}

// CloseLot implements StockService.
func (s *Server) CloseLot(ctx context.Context, r *materialsv1.CloseLotRequest) (*materialsv1.CloseLotResponse, error) {
	now := s.Shop.Now()
	asked, err := s.decodeOnLot(r.Lot, "close_time", r.CloseTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.CloseLotResponse, error) {
		lot, n, err := s.noteOn(ctx, tx, now, asked, func(_ materials.Product, l materials.Lot, e materials.Entry) (materials.Entry, error) {
			e.Reason = r.Reason
			return l.Close(e)
		})
		if err != nil {
			return nil, err
		}
		return &materialsv1.CloseLotResponse{Lot: lot, Recostings: s.encodeRecosted(n)}, nil
	})
}
