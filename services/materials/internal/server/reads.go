package server

import (
	"context"
	"strings"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// GetProduct implements MaterialsService.
func (s *Server) GetProduct(ctx context.Context, r *materialsv1.GetProductRequest) (*materialsv1.GetProductResponse, error) {
	productID, err := id.One("name", r.Name, "products")
	if err != nil {
		return nil, err
	}
	var p materials.Product
	var factor float64
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		if p, err = store.New(q).Get(ctx, productID); err != nil || p.Sheet == nil {
			return err
		}
		factor, err = store.New(q).UsageFactor(ctx, materials.Applied{Product: p.ID, Method: string(p.Sheet.Method)})
		return err
	})
	if err != nil {
		return nil, notFoundAt("name", err)
	}
	out := s.encode(p)
	out.UsageFactor = factor
	return &materialsv1.GetProductResponse{Product: out}, nil
}

// ListProducts implements MaterialsService.
func (s *Server) ListProducts(ctx context.Context, r *materialsv1.ListProductsRequest) (*materialsv1.ListProductsResponse, error) {
	var after string
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	filter := store.ProductFilter{Category: strings.ToLower(wire.Name(r.Category)), Search: r.Search}
	var products []materials.Product
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		products, err = store.New(q).List(ctx, filter, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListProductsResponse{NextPageToken: page.Next(products, size, func(p materials.Product) any { return p.Name })}
	for _, p := range products {
		out.Products = append(out.Products, s.encode(p))
	}
	return out, nil
}

// ListLots implements MaterialsService.
func (s *Server) ListLots(ctx context.Context, r *materialsv1.ListLotsRequest) (*materialsv1.ListLotsResponse, error) {
	productID, err := id.One("product", r.Product, "products")
	if err != nil {
		return nil, err
	}
	var after store.LotKey
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var p materials.Product
	var method materials.Method
	var lots []materials.Lot
	var places map[id.ID]string
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		if p, err = store.New(q).Get(ctx, productID); err != nil {
			return err
		}
		if method, _, _, err = store.New(q).Method(ctx); err != nil {
			return err
		}
		if lots, err = store.New(q).Lots(ctx, productID, after, r.ShowUsedUp, size); err != nil {
			return err
		}
		places, err = store.New(q).PlaceWords(ctx, placesOf(lots))
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListLotsResponse{NextPageToken: page.Next(lots, size, func(l materials.Lot) any {
		return store.LotKey{At: l.ReceivedAt, ID: l.ID}
	})}
	for _, l := range lots {
		out.Lots = append(out.Lots, s.encodeLot(p, method, l, places))
	}
	return out, nil
}

func placesOf(lots []materials.Lot) (places []id.ID) {
	for _, l := range lots {
		if l.Place != id.Nil {
			places = append(places, l.Place)
		}
	}
	return places
}
