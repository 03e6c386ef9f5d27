package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// ReturnMaterial implements StockService. Nobody is asked about the piece: what is unused comes
// back whatever has become of it.
func (s *Server) ReturnMaterial(ctx context.Context, r *materialsv1.ReturnMaterialRequest) (*materialsv1.ReturnMaterialResponse, error) {
	now := s.Shop.Now()
	product, issueID, err := decodeBack(r.Issue)
	if err != nil {
		return nil, err
	}
	amount, err := wire.Amount("quantity", r.Quantity)
	if err != nil {
		return nil, err
	}
	at, err := s.Shop.Instant("return_time", r.ReturnTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.ReturnMaterialResponse, error) {
		issue, shelf, pieces, err := store.New(tx).LockIssue(ctx, product, issueID)
		if err != nil {
			return nil, err
		}
		shelf.Zone = s.Shop.Zone
		n := &noting{shelf: shelf, pieces: pieces, now: now}
		e := n.entry(ctx, at, r.ReturnTime)
		e.Reason = wire.Name(r.Note)
		if e, err = shelf.Product.Return(issue, e, amount); err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, e); err != nil {
			return nil, err
		}
		back := shelf.Posted[0]
		issue.Returned = materials.Worth{Quantity: issue.Returned.Quantity.Add(back.Quantity), Cost: issue.Returned.Cost + back.Total()}
		return &materialsv1.ReturnMaterialResponse{Issue: s.encodeIssue(shelf.Product, issue), Product: s.encode(shelf.Product),
			Cost: s.Shop.ToMoney(back.Total()), Recostings: s.encodeRecosted(n)}, nil
	})
}

// causes are the causes of waste under their names on the wire.
var causes = map[materialsv1.WasteCause]materials.Cause{
	materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING: materials.GunCleaning,
	materialsv1.WasteCause_WASTE_CAUSE_HOSE:         materials.Hose,
	materialsv1.WasteCause_WASTE_CAUSE_LEFT_OVER:    materials.LeftOver,
	materialsv1.WasteCause_WASTE_CAUSE_EXPIRED:      materials.TooOld,
	materialsv1.WasteCause_WASTE_CAUSE_SPOILT:       materials.Spoilt,
	materialsv1.WasteCause_WASTE_CAUSE_SPILT:        materials.Spilt,
}

func encodeCause(c materials.Cause) materialsv1.WasteCause {
	for on, known := range causes {
		if known == c {
			return on
		}
	}
	return materialsv1.WasteCause_WASTE_CAUSE_UNSPECIFIED
}

// RecordWaste implements StockService. Of a stage the others are asked as for IssueMaterial.
func (s *Server) RecordWaste(ctx context.Context, r *materialsv1.RecordWasteRequest) (*materialsv1.RecordWasteResponse, error) {
	now := s.Shop.Now()
	asked, err := s.decodeTaken(r.Product, r.Quantity, r.Lot, "waste_time", r.WasteTime)
	if err != nil {
		return nil, err
	}
	to, err := decodeStageOrNone(r.Stage)
	if err != nil {
		return nil, err
	}
	stage, stageErr := s.stageOrNone(ctx, to, asked.at)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.RecordWasteResponse, error) {
		if stageErr != nil {
			return nil, stageErr
		}
		n, err := s.open(ctx, tx, now, asked.product, []id.ID{asked.lot}, stage.Piece)
		if err != nil {
			return nil, err
		}
		if err := n.known(asked.lot); err != nil {
			return nil, err
		}
		e := n.entry(ctx, asked.at, r.WasteTime)
		e.Lot, e.To, e.Cause, e.Reason = asked.lot, stage, causes[r.Cause], wire.Name(r.Note)
		if e, err = n.shelf.Product.Waste(e, asked.amount); err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, e); err != nil {
			return nil, err
		}
		return &materialsv1.RecordWasteResponse{Movement: s.encodeMovement(store.Noted{Posted: n.shelf.Posted[0], Product: n.shelf.Product}),
			Product: s.encode(n.shelf.Product), Recostings: s.encodeRecosted(n)}, nil
	})
}

// known refuses a lot that the product has not. Fault: LOT_NOT_FOUND.
func (n *noting) known(lot id.ID) error {
	if lot == id.Nil {
		return nil
	}
	_, err := n.shelf.Lot(lot)
	return err
}

// CountStock implements StockService.
func (s *Server) CountStock(ctx context.Context, r *materialsv1.CountStockRequest) (*materialsv1.CountStockResponse, error) {
	now := s.Shop.Now()
	asked, err := s.decodeCount(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.CountStockResponse, error) {
		n, err := s.open(ctx, tx, now, asked.product, []id.ID{asked.lot})
		if err != nil {
			return nil, err
		}
		if err := n.known(asked.lot); err != nil {
			return nil, err
		}
		e := n.entry(ctx, asked.at, r.CountTime)
		e.Lot, e.Into, e.Reason = asked.lot, e.ID, wire.Name(r.Reason)
		if e, err = n.shelf.Product.CountStock(e, asked.amount); err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, e); err != nil {
			return nil, err
		}
		p, posted := n.shelf.Product, n.shelf.Posted[0]
		return &materialsv1.CountStockResponse{Movement: s.encodeMovement(store.Noted{Posted: posted, Product: p}), Difference: amountOf(p, posted.Net()),
			Product: s.encode(p), Recostings: s.encodeRecosted(n)}, nil
	})
}
