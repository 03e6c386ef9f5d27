package store

import (
	"context"

	"tackfree/pkg/money"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

// BuyingTerms reads what an hour is to earn, and what buying costs.
func (s Store) BuyingTerms(ctx context.Context) (intake.BuyingTerms, error) {
	row, err := s.q.BuyingTerms(ctx)
	return intake.BuyingTerms{Target: money.Amount(row.TargetPerHour), Chance: row.Chance, Labour: money.Amount(row.LabourPerHour),
		PerKM: money.Amount(row.TravelPerKm), KMPerHour: row.KmPerHour, HandlingMinutes: row.HandlingMinutes, Version: row.Version}, err
}

// LockBuyingTerms reads them and keeps others from changing them until the transaction ends. The lock
// is a statement before the reading one, which therefore sees what the lock was waited for.
func (s Store) LockBuyingTerms(ctx context.Context) (intake.BuyingTerms, error) {
	if err := s.q.LockBuyingTerms(ctx); err != nil {
		return intake.BuyingTerms{}, err
	}
	return s.BuyingTerms(ctx)
}

// SetBuyingTerms writes them.
func (s Store) SetBuyingTerms(ctx context.Context, t intake.BuyingTerms) error {
	return s.q.SetBuyingTerms(ctx, storedb.SetBuyingTermsParams{TargetPerHour: int64(t.Target), Chance: t.Chance, LabourPerHour: int64(t.Labour),
		TravelPerKm: int64(t.PerKM), KmPerHour: t.KMPerHour, HandlingMinutes: t.HandlingMinutes, Version: t.Version})
}
