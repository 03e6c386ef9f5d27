package server

import (
	"context"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/internal/store"
)

// decodeTaken reads an amount of a product, or of one of its lots.
func (s *Server) decodeTaken(product string, q *typev1.Quantity, lot, field string, at *timestamppb.Timestamp) (i issuing, err error) {
	if i.product, err = id.One("product", product, "products"); err != nil {
		return i, err
	}
	if i.amount, err = wire.Amount("quantity", q); err != nil {
		return i, err
	}
	if i.lot, err = lotOf(i.product, lot); err != nil {
		return i, err
	}
	i.at, err = s.Shop.Instant(field, at)
	return i, err
}

// decodeCount reads what somebody found, which may be nothing at all.
func (s *Server) decodeCount(r *materialsv1.CountStockRequest) (issuing, error) {
	i, err := s.decodeTaken(r.Product, &typev1.Quantity{Value: "1", Unit: r.Quantity.GetUnit()}, r.Lot, "count_time", r.CountTime)
	if err != nil {
		return i, err
	}
	i.amount, err = quantity.Parse(r.Quantity.GetValue(), r.Quantity.GetUnit())
	if err == nil && i.amount.Value.IsNegative() {
		err = fault.New(fault.Invalid, "QUANTITY_NOT_POSITIVE", "Nobody finds less than nothing; count again.").At("quantity")
	}
	return i, err
}

// placeOf looks a place up by its word; an empty word is none. Fault: PLACE_NOT_FOUND.
func (s *Server) placeOf(ctx context.Context, tx *pg.Tx, word string) (id.ID, error) {
	if word == "" {
		return id.Nil, nil
	}
	place, err := store.New(tx).PlaceByWord(ctx, word)
	return place.ID, err
}

// encodeRecosted writes what a command did to what was noted before, of its product and of mixes.
func (s *Server) encodeRecosted(n *noting) (out []*materialsv1.Recosting) {
	p := n.shelf.Product
	for _, r := range n.shelf.Recosted {
		old, now := r.Cost()
		differs := !r.Net().Equal(r.Old.Net())
		if old == now && !differs {
			continue
		}
		m := &materialsv1.Recosting{Product: id.Name("products", p.ID), ProductName: p.Name, Entry: id.Name("products", p.ID, "entries", r.ID),
			Purpose: string(r.Purpose), OldCost: s.Shop.ToMoney(old), NewCost: s.Shop.ToMoney(now)}
		if r.To.Piece != id.Nil {
			m.Stage = id.Name("pieces", r.To.Piece, "stages", r.To.ID)
		}
		if differs {
			m.OldDifference, m.NewDifference = amountOf(p, r.Old.Net()), amountOf(p, r.Net())
		}
		out = append(out, m)
	}
	for _, also := range n.also {
		out = append(out, s.encodeRecosted(also)...)
	}
	return out
}

func (s *Server) encodeMovement(n store.Noted) *materialsv1.Movement {
	p := n.Product
	out := &materialsv1.Movement{
		Name: id.Name("products", p.ID, "entries", n.ID), ProductName: p.Name, Purpose: string(n.Purpose), Time: wire.ToInstant(n.At),
		Quantity: amountOf(p, n.Net()), Cost: s.Shop.ToMoney(n.Total()), StageKind: n.To.Kind, Pass: n.To.Pass, Cause: encodeCause(n.Cause),
		Reason: n.Reason, Actor: n.Actor, RecordTime: wire.ToInstant(n.Recorded), Recosted: n.Recostings, Undone: n.Undone,
	}
	if n.To.Piece != id.Nil {
		out.Stage = id.Name("pieces", n.To.Piece, "stages", n.To.ID)
	}
	if n.Of != id.Nil {
		out.Of = id.Name("products", p.ID, "entries", n.Of)
	}
	for _, part := range n.Parts {
		out.Parts = append(out.Parts, &materialsv1.Movement_Part{Lot: id.Name("products", p.ID, "lots", part.Lot),
			Quantity: amountOf(p, part.Quantity), Cost: s.Shop.ToMoney(part.Cost)})
	}
	return out
}
