package server

import (
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// PlaceOrder implements OrderService.
func (s *Server) PlaceOrder(ctx context.Context, r *materialsv1.PlaceOrderRequest) (*materialsv1.PlaceOrderResponse, error) {
	now := s.Shop.Now()
	wanted, err := s.decodeOrder(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.PlaceOrderResponse, error) {
		st := store.New(tx)
		products, err := st.HoldProducts(ctx, wanted.products())
		if err != nil {
			return nil, err
		}
		if err := st.HoldSeller(ctx, wanted.supplier); err != nil {
			return nil, err
		}
		seller, err := st.Seller(ctx, wanted.supplier, wanted.products(), now)
		if err != nil {
			return nil, err
		}
		o, err := wanted.order(products, seller, s.Shop.Zone)
		if err != nil {
			return nil, err
		}
		o.ID, o.Actor = id.New(), caller.Of(ctx).Actor
		o, facts, err := materials.PlaceOrder(o)
		if err != nil {
			return nil, err
		}
		if o, err = st.InsertOrder(ctx, o); err != nil {
			return nil, err
		}
		return &materialsv1.PlaceOrderResponse{Order: s.encodeOrder(o)}, s.tellOrder(ctx, tx, o, facts, o.OrderedAt, now)
	})
}

// CloseOrder implements OrderService.
func (s *Server) CloseOrder(ctx context.Context, r *materialsv1.CloseOrderRequest) (*materialsv1.CloseOrderResponse, error) {
	now := s.Shop.Now()
	orderID, err := id.One("name", r.Name, "purchaseOrders")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.CloseOrderResponse, error) {
		o, err := s.endOrder(ctx, tx, orderID, r.Etag, now, func(o *materials.Order) ([]materials.OrderFact, error) { return o.Close(r.Reason) })
		return &materialsv1.CloseOrderResponse{Order: s.encodeOrder(o)}, err
	})
}

// CancelOrder implements OrderService.
func (s *Server) CancelOrder(ctx context.Context, r *materialsv1.CancelOrderRequest) (*materialsv1.CancelOrderResponse, error) {
	now := s.Shop.Now()
	orderID, err := id.One("name", r.Name, "purchaseOrders")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.CancelOrderResponse, error) {
		o, err := s.endOrder(ctx, tx, orderID, r.Etag, now, func(o *materials.Order) ([]materials.OrderFact, error) { return o.Cancel(r.Reason) })
		return &materialsv1.CancelOrderResponse{Order: s.encodeOrder(o)}, err
	})
}

// endOrder changes an order under its lock.
func (s *Server) endOrder(ctx context.Context, tx *pg.Tx, order id.ID, etag string, now time.Time, end func(*materials.Order) ([]materials.OrderFact, error)) (materials.Order, error) {
	st := store.New(tx)
	o, err := st.LockOrder(ctx, order)
	if err != nil {
		return o, err
	}
	if err := wire.CheckEtag(etag, o.Version); err != nil {
		return o, err
	}
	facts, err := end(&o)
	if err != nil {
		return o, err
	}
	if err := st.SaveOrder(ctx, o); err != nil {
		return o, err
	}
	return o, s.tellOrder(ctx, tx, o, facts, now, now)
}

// GetOrder implements OrderService.
func (s *Server) GetOrder(ctx context.Context, r *materialsv1.GetOrderRequest) (*materialsv1.GetOrderResponse, error) {
	orderID, err := id.One("name", r.Name, "purchaseOrders")
	if err != nil {
		return nil, err
	}
	var o materials.Order
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		o, err = store.New(q).Order(ctx, orderID)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &materialsv1.GetOrderResponse{Order: s.encodeOrder(o)}, nil
}

// ListOrders implements OrderService.
func (s *Server) ListOrders(ctx context.Context, r *materialsv1.ListOrdersRequest) (*materialsv1.ListOrdersResponse, error) {
	filter, err := decodeOrderFilter(r)
	if err != nil {
		return nil, err
	}
	var below int64
	if err := page.Read(r.PageToken, &below); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var orders []materials.Order
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		orders, err = store.New(q).Orders(ctx, filter, below, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListOrdersResponse{NextPageToken: page.Next(orders, size, func(o materials.Order) any { return o.Number })}
	for _, o := range orders {
		out.Orders = append(out.Orders, s.encodeOrder(o))
	}
	return out, nil
}

// decodeOrderFilter reads an empty name as any.
func decodeOrderFilter(r *materialsv1.ListOrdersRequest) (f store.OrderFilter, err error) {
	f.OnlyOpen = r.OnlyOpen
	if r.Supplier != "" {
		if f.Supplier, err = id.One("supplier", r.Supplier, "suppliers"); err != nil {
			return f, err
		}
	}
	if r.Product != "" {
		f.Product, err = id.One("product", r.Product, "products")
	}
	return f, err
}
