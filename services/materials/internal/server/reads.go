package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
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
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		p, err = store.New(q).Get(ctx, productID)
		return err
	})
	if err != nil {
		return nil, notFoundAt("name", err)
	}
	return &materialsv1.GetProductResponse{Product: s.encode(p)}, nil
}

// ListProducts implements MaterialsService.
func (s *Server) ListProducts(ctx context.Context, r *materialsv1.ListProductsRequest) (*materialsv1.ListProductsResponse, error) {
	var after string
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var products []materials.Product
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		products, err = store.New(q).List(ctx, after, size)
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
	var lots []materials.Lot
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		if p, err = store.New(q).Get(ctx, productID); err != nil {
			return err
		}
		lots, err = store.New(q).Lots(ctx, productID, after, r.ShowUsedUp, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListLotsResponse{NextPageToken: page.Next(lots, size, func(l materials.Lot) any {
		return store.LotKey{At: l.ReceivedAt, ID: l.ID}
	})}
	for _, l := range lots {
		out.Lots = append(out.Lots, s.encodeLot(p, l))
	}
	return out, nil
}
