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

// tell appends an event for each fact; the last of them made the product's version. The alerts of
// what changed are looked at anew.
func (s *Server) tell(ctx context.Context, tx *pg.Tx, p materials.Product, facts []materials.Fact, at, now time.Time) error {
	for n, f := range facts {
		e := outbox.Event{Kind: "product", Aggregate: p.ID, Version: p.Version - int64(len(facts)-1-n), OccurredAt: at, Payload: s.payload(p, f)}
		if err := s.Log.Append(ctx, tx, e, now); err != nil {
			return err
		}
	}
	tx.After(func() { s.Changed(p.ID) })
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
	case materials.Described:
		return describedOf(p)
	case materials.Received:
		return s.received(p, f)
	case materials.Noted:
		return s.noted(p, f.Posted)
	case materials.CostCorrected:
		return s.costCorrected(p, f)
	case materials.Recounted:
		return s.stockRecosted(p, f.Lines)
	case materials.FellLow:
		return &eventsv1.StockLow{ProductId: product, ProductName: p.Name, OnHand: amountOf(p, p.OnHand), Threshold: encodeThreshold(p)}
	}
	panic(fmt.Sprintf("materials: no event for %T", f))
}
