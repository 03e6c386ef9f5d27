package server

import (
	"context"
	"fmt"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/materials"
)

// tellPiece appends the event that made the piece's version.
func (s *Server) tellPiece(ctx context.Context, tx *pg.Tx, p materials.Piece, payload proto.Message, at, now time.Time) error {
	return s.Log.Append(ctx, tx, outbox.Event{
		Kind: "piece", Aggregate: p.ID, Version: p.Version, Piece: p.ID, OccurredAt: at, Payload: payload}, now)
}

// tell appends an event for each fact; the last of them made the product's version.
func (s *Server) tell(ctx context.Context, tx *pg.Tx, p materials.Product, facts []materials.Fact, at, now time.Time) error {
	for n, f := range facts {
		e := outbox.Event{Kind: "product", Aggregate: p.ID, Version: p.Version - int64(len(facts)-1-n), OccurredAt: at, Payload: s.payload(p, f)}
		if err := s.Log.Append(ctx, tx, e, now); err != nil {
			return err
		}
	}
	return nil
}

func (s *Server) payload(p materials.Product, f materials.Fact) proto.Message {
	product := p.ID.String()
	switch f := f.(type) {
	case materials.Added:
		return &eventsv1.ProductAdded{ProductId: product, DisplayName: p.Name, Unit: p.Unit.Symbol}
	case materials.ThresholdSet:
		return &eventsv1.RestockThresholdSet{ProductId: product, ProductName: p.Name, Threshold: encodeThreshold(p)}
	case materials.SheetSet:
		return &eventsv1.CoatingSheetSet{ProductId: product, ProductName: p.Name, CoatingSheet: wire.ToSheet(p.Sheet)}
	case materials.Received:
		return &eventsv1.StockReceived{ProductId: product, ProductName: p.Name, LotId: f.Lot.ID.String(),
			Quantity: amountOf(p, f.Lot.Quantity), Cost: s.Shop.ToMoney(f.Lot.Cost)}
	case materials.FellLow:
		return &eventsv1.StockLow{ProductId: product, ProductName: p.Name, OnHand: amountOf(p, p.OnHand), Threshold: encodeThreshold(p)}
	}
	panic(fmt.Sprintf("materials: no event for %T", f))
}

func (s *Server) issued(p materials.Product, i materials.Issue) *eventsv1.MaterialIssued {
	e := &eventsv1.MaterialIssued{
		IssueId: i.ID.String(), ProductId: p.ID.String(), ProductName: p.Name,
		StageId: i.Stage.ID.String(), StageKind: i.Stage.Kind, Pass: i.Stage.Pass,
		Quantity: amountOf(p, i.Quantity), Cost: s.Shop.ToMoney(i.Cost),
	}
	for _, d := range i.Draws {
		e.Draws = append(e.Draws, &eventsv1.MaterialIssued_Draw{
			LotId: d.Lot.ID.String(), Quantity: amountOf(p, d.Quantity), Cost: s.Shop.ToMoney(d.Cost)})
	}
	return e
}

// takenBack repeats what was issued, so that nobody has to look it up.
func (s *Server) takenBack(p materials.Product, i materials.Issue) *eventsv1.MaterialTakenBack {
	e := s.issued(p, i)
	return &eventsv1.MaterialTakenBack{
		IssueId: e.IssueId, ProductId: e.ProductId, ProductName: e.ProductName, StageId: e.StageId, StageKind: e.StageKind, Pass: e.Pass,
		Quantity: e.Quantity, Cost: e.Cost, Draws: e.Draws, Reason: i.Back.Reason,
	}
}
