package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/store"
)

// SetCoatingSheet implements MaterialsService.
func (s *Server) SetCoatingSheet(ctx context.Context, r *materialsv1.SetCoatingSheetRequest) (*materialsv1.SetCoatingSheetResponse, error) {
	now := s.Shop.Now()
	productID, err := id.One("product", r.Product, "products")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.SetCoatingSheetResponse, error) {
		st := store.New(tx)
		p, err := st.Lock(ctx, productID)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, p.Version); err != nil {
			return nil, err
		}
		facts, err := p.SetSheet(wire.FromSheet(r.CoatingSheet))
		if err != nil {
			return nil, err
		}
		if err := st.SetSheet(ctx, p); err != nil {
			return nil, err
		}
		return &materialsv1.SetCoatingSheetResponse{Product: s.encode(p)}, s.tell(ctx, tx, p, facts, now, now)
	})
}
