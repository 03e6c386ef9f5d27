package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// ListAlerts implements RestockService.
func (s *Server) ListAlerts(ctx context.Context, r *materialsv1.ListAlertsRequest) (*materialsv1.ListAlertsResponse, error) {
	filter := store.AlertFilter{ClosedToo: r.ShowClosed, Since: wire.Oldest}
	var before store.AlertKey
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	if r.SinceTime != nil {
		var err error
		if filter.Since, err = s.Shop.Instant("since_time", r.SinceTime); err != nil {
			return nil, err
		}
	}
	size := page.Size(r.PageSize)
	var alerts []store.SeenAlert
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		if filter.Product, err = productNamed(ctx, q, r.Product); err != nil {
			return err
		}
		alerts, err = store.New(q).Alerts(ctx, filter, before, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListAlertsResponse{NextPageToken: page.Next(alerts, size, func(a store.SeenAlert) any { return store.AlertKey{At: a.RaisedAt, ID: a.ID} })}
	for _, a := range alerts {
		out.Alerts = append(out.Alerts, encodeAlert(a))
	}
	return out, nil
}

// productNamed reads the name of a product that is there; empty is id.Nil. Fault: PRODUCT_NOT_FOUND.
func productNamed(ctx context.Context, q pg.Querier, name string) (id.ID, error) {
	if name == "" {
		return id.Nil, nil
	}
	product, err := id.One("product", name, "products")
	if err != nil {
		return product, err
	}
	_, err = store.New(q).Get(ctx, product)
	return product, err
}

func encodeAlert(a store.SeenAlert) *materialsv1.Alert {
	out := &materialsv1.Alert{Name: id.Name("alerts", a.ID), Kind: string(a.Kind), ProductName: a.ProductName, Text: a.Text, DueTime: wire.ToInstant(a.Due),
		RaiseTime: wire.ToInstant(a.RaisedAt), UpdateTime: wire.ToInstant(a.UpdatedAt), CloseTime: wire.ToInstant(a.ClosedAt),
		NobodySells: materials.NobodySells(a.Text)}
	if a.Product != id.Nil {
		out.Product = id.Name("products", a.Product)
	}
	return out
}
