package server

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// ListExpiring implements StorageService.
func (s *Server) ListExpiring(ctx context.Context, r *materialsv1.ListExpiringRequest) (*materialsv1.ListExpiringResponse, error) {
	var after store.ExpiryKey
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	now, size := s.Shop.Now(), page.Size(r.PageSize)
	until := now.Add(time.Duration(r.Days) * 24 * time.Hour)
	var lots []materials.ExpiringLot
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		lots, err = store.New(q).Expiring(ctx, until, after, true, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListExpiringResponse{NextPageToken: page.Next(lots, size, func(l materials.ExpiringLot) any { return expiryKey(l) })}
	for _, l := range lots {
		out.Lots = append(out.Lots, s.encodeExpiring(l, now))
	}
	return out, nil
}

func expiryKey(l materials.ExpiringLot) store.ExpiryKey {
	return store.ExpiryKey{At: l.ExpiresAt, ID: l.Lot}
}

func (s *Server) encodeExpiring(l materials.ExpiringLot, now time.Time) *materialsv1.ExpiringLot {
	return &materialsv1.ExpiringLot{
		Lot: id.Name("products", l.Product, "lots", l.Lot), ProductName: l.ProductName, Left: wire.ToQuantity(l.Left, l.Unit), Value: s.Shop.ToMoney(l.Value),
		ExpireTime: wire.ToInstant(l.ExpiresAt), LastDate: wire.ToDay(l.LastDay(s.Shop.Zone)), Expired: l.Expired(now), Place: placeName(l.Place), Open: l.Open, Closed: l.Closed}
}
