package server

import (
	"context"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/store"
)

// ListMovements implements StockService.
func (s *Server) ListMovements(ctx context.Context, r *materialsv1.ListMovementsRequest) (*materialsv1.ListMovementsResponse, error) {
	filter, err := decodeMovements(r)
	if err != nil {
		return nil, err
	}
	var before store.EntryKey
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var noted []store.Noted
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if filter.Product != id.Nil {
			if _, err := st.Get(ctx, filter.Product); err != nil {
				return err
			}
		}
		noted, err = st.Entries(ctx, filter, before, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListMovementsResponse{NextPageToken: page.Next(noted, size, func(n store.Noted) any { return store.EntryKey{At: n.At, ID: n.ID} })}
	for _, n := range noted {
		out.Movements = append(out.Movements, s.encodeMovement(n))
	}
	return out, nil
}

func decodeMovements(r *materialsv1.ListMovementsRequest) (f store.EntryFilter, err error) {
	f.Purposes = r.Purposes
	if r.Product != "" {
		if f.Product, err = id.One("product", r.Product, "products"); err != nil {
			return f, err
		}
	}
	if r.Piece != "" {
		if f.Piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
			return f, err
		}
	}
	if r.FromTime != nil {
		f.From = r.FromTime.AsTime()
	}
	if r.ToTime != nil {
		f.Until = r.ToTime.AsTime()
	}
	if r.FromTime != nil && r.ToTime != nil && !f.From.Before(f.Until) {
		return f, fault.New(fault.Invalid, "FROM_AFTER_TO", "The first time is not before the last; check both.").At("from_time")
	}
	return f, nil
}
