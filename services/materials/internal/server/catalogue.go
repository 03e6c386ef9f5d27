package server

import (
	"context"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// RenameProduct implements CatalogueService.
func (s *Server) RenameProduct(ctx context.Context, r *materialsv1.RenameProductRequest) (*materialsv1.RenameProductResponse, error) {
	name, err := nameOf("display_name", r.DisplayName)
	if err != nil {
		return nil, err
	}
	return describe(ctx, s, r, func(p *materials.Product, _ []materials.InUse) ([]materials.Fact, error) {
		return p.Rename(name), nil
	}, func(p *materialsv1.Product) *materialsv1.RenameProductResponse {
		return &materialsv1.RenameProductResponse{Product: p}
	})
}

// DescribeProduct implements CatalogueService.
func (s *Server) DescribeProduct(ctx context.Context, r *materialsv1.DescribeProductRequest) (*materialsv1.DescribeProductResponse, error) {
	details, err := decodeDetails(r.Details)
	if err != nil {
		return nil, err
	}
	return describe(ctx, s, r, func(p *materials.Product, _ []materials.InUse) ([]materials.Fact, error) {
		return p.Describe(details)
	}, func(p *materialsv1.Product) *materialsv1.DescribeProductResponse {
		return &materialsv1.DescribeProductResponse{Product: p}
	})
}

// SetPackages implements CatalogueService. No offer is set meanwhile, for that locks the product.
func (s *Server) SetPackages(ctx context.Context, r *materialsv1.SetPackagesRequest) (*materialsv1.SetPackagesResponse, error) {
	return describe(ctx, s, r, func(p *materials.Product, inUse []materials.InUse) ([]materials.Fact, error) {
		packages, err := decodePackages(r.Packages, p.Unit)
		if err != nil {
			return nil, err
		}
		return p.SetPackages(packages, inUse)
	}, func(p *materialsv1.Product) *materialsv1.SetPackagesResponse {
		return &materialsv1.SetPackagesResponse{Product: p}
	})
}

// aboutProduct is a command that says something else of a product.
type aboutProduct interface {
	once.Command
	GetProduct() string
	GetEtag() string
}

// describe changes what is known of a product under its lock.
func describe[R proto.Message](ctx context.Context, s *Server, r aboutProduct,
	change func(*materials.Product, []materials.InUse) ([]materials.Fact, error), answer func(*materialsv1.Product) R) (R, error) {
	var none R
	now := s.Shop.Now()
	productID, err := id.One("product", r.GetProduct(), "products")
	if err != nil {
		return none, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (R, error) {
		st := store.New(tx)
		p, err := st.Lock(ctx, productID)
		if err != nil {
			return none, err
		}
		if err := wire.CheckEtag(r.GetEtag(), p.Version); err != nil {
			return none, err
		}
		inUse, err := st.InUse(ctx, []id.ID{p.ID})
		if err != nil {
			return none, err
		}
		facts, err := change(&p, inUse[p.ID])
		if err != nil {
			return none, err
		}
		if err := st.Describe(ctx, p); err != nil {
			return none, err
		}
		return answer(s.encode(p)), s.tell(ctx, tx, p, facts, now, now)
	})
}
