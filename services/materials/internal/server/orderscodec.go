package server

import (
	"context"
	"fmt"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
)

var orderStates = map[materials.OrderState]materialsv1.Order_State{
	materials.Ordered: materialsv1.Order_STATE_ORDERED, materials.PartReceived: materialsv1.Order_STATE_PART_RECEIVED,
	materials.OrderReceived: materialsv1.Order_STATE_RECEIVED, materials.OrderClosed: materialsv1.Order_STATE_CLOSED,
	materials.OrderCancelled: materialsv1.Order_STATE_CANCELLED,
}

func (s *Server) encodeOrder(o materials.Order) *materialsv1.Order {
	out := &materialsv1.Order{Name: id.Name("purchaseOrders", o.ID), Number: o.Number, Supplier: id.Name("suppliers", o.Supplier), SupplierName: o.SupplierName,
		State: orderStates[o.State], OrderTime: wire.ToInstant(o.OrderedAt), ExpectDate: wire.ToDay(o.ExpectedAt.In(s.Shop.Zone)), Total: s.Shop.ToMoney(o.Total()),
		Reason: o.Reason, Note: o.Note, Actor: o.Actor, Etag: wire.Etag(o.Version)}
	for _, l := range o.Lines {
		out.Lines = append(out.Lines, &materialsv1.Order_Line{Name: fmt.Sprintf("%s/lines/%d", out.Name, l.Number),
			Product: id.Name("products", l.Product), ProductName: l.ProductName, PackageLabel: l.Package, Packages: l.Count,
			Price: s.Shop.ToMoney(l.Price), Cost: s.Shop.ToMoney(l.Cost()), Ordered: wire.ToQuantity(l.Quantity(), l.Unit.Symbol),
			Received: wire.ToQuantity(l.Received, l.Unit.Symbol), FirstReceiveTime: wire.ToInstant(l.FirstAt)})
	}
	return out
}

// tellOrder appends an event for each fact; the last of them made the order's version. The alerts
// of what is on order are looked at anew after the commit.
func (s *Server) tellOrder(ctx context.Context, tx *pg.Tx, o materials.Order, facts []materials.OrderFact, at, now time.Time) error {
	for n, f := range facts {
		e := outbox.Event{Kind: "order", Aggregate: o.ID, Version: o.Version - int64(len(facts)-1-n), OccurredAt: at, Payload: s.orderPayload(o, f)}
		if err := s.Log.Append(ctx, tx, e, now); err != nil {
			return err
		}
	}
	var products []id.ID
	for _, l := range o.Lines {
		products = append(products, l.Product)
	}
	tx.After(func() { s.Changed(products...) })
	return nil
}

func (s *Server) orderPayload(o materials.Order, f materials.OrderFact) proto.Message {
	switch f := f.(type) {
	case materials.OrderPlaced:
		return s.orderPlaced(o)
	case materials.OrderChanged:
		return &eventsv1.OrderChanged{OrderId: o.ID.String(), Number: o.Number, SupplierId: o.Supplier.String(), SupplierName: o.SupplierName, State: string(f.State), Reason: f.Reason}
	}
	panic(fmt.Sprintf("materials: no event for %T", f))
}

func (s *Server) orderPlaced(o materials.Order) *eventsv1.OrderPlaced {
	e := &eventsv1.OrderPlaced{OrderId: o.ID.String(), Number: o.Number, SupplierId: o.Supplier.String(), SupplierName: o.SupplierName,
		Total: s.Shop.ToMoney(o.Total()), ExpectedAt: wire.ToInstant(o.ExpectedAt)}
	for _, l := range o.Lines {
		e.Lines = append(e.Lines, &eventsv1.OrderPlaced_Line{Number: l.Number, ProductId: l.Product.String(), ProductName: l.ProductName,
			PackageLabel: l.Package, Packages: l.Count, Quantity: wire.ToQuantity(l.Quantity(), l.Unit.Symbol), Price: s.Shop.ToMoney(l.Price)})
	}
	return e
}
