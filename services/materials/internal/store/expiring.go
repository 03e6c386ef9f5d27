package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// ExpiryKey is a place in the order in which lots expire.
type ExpiryKey struct {
	At time.Time
	ID id.ID
}

// Expiring reads up to limit lots with something left that expire until an instant, after a
// place in their order; closed ones too if asked.
func (s Store) Expiring(ctx context.Context, until time.Time, after ExpiryKey, closedToo bool, limit int32) ([]materials.ExpiringLot, error) {
	rows, err := s.q.ListExpiring(ctx, storedb.ListExpiringParams{Until: until, AfterAt: after.At, AfterID: after.ID, ClosedToo: closedToo, PageLimit: limit})
	lots := make([]materials.ExpiringLot, len(rows))
	for n, row := range rows {
		lots[n] = materials.ExpiringLot{Product: row.ProductID, ProductName: row.DisplayName, Lot: row.ID, Left: row.QuantityLeft, Unit: row.Unit,
			Value: money.Amount(row.CostLeft), ExpiresAt: row.ExpiresAt.UTC(), Place: row.PlaceWord, Open: row.Opened, Closed: row.Closed}
	}
	return lots, err
}
