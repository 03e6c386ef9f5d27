package store

import (
	"context"
	"errors"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/advice"
	"tackfree/services/sales/internal/store/storedb"
)

// Stamp is what the past has come to: a number that goes up whenever something of it becomes
// otherwise, and the epoch, which is another one whenever all was forgotten, to be noted anew.
type Stamp struct {
	N     int64
	Epoch id.ID
}

// Terms reads the selling terms, and what the past has come to.
func (s Store) Terms(ctx context.Context) (t advice.Terms, past Stamp, err error) {
	r, err := s.q.GetSellingTerms(ctx)
	if err != nil {
		return t, past, err
	}
	t = advice.Terms{
		HoldingSmall: (*money.Amount)(r.HoldingSmall), HoldingMedium: (*money.Amount)(r.HoldingMedium), HoldingLarge: (*money.Amount)(r.HoldingLarge),
		FeePercent: r.FeePercent, DaysBetween: r.DaysBetweenMarkdowns, MostMarkdowns: r.MostMarkdowns, Horizon: r.HorizonDays,
		SalvagePercent: r.SalvagePercent, Version: r.Version}
	beliefs, err := s.q.GetSellingBeliefs(ctx)
	for _, b := range beliefs {
		t.Beliefs = append(t.Beliefs, advice.Belief{Key: b.KindKey, Kind: b.Kind, DaysLikely: b.DaysLikely,
			Guess: advice.Guess{Low: money.Amount(b.Low), High: money.Amount(b.High)}})
	}
	return t, Stamp{r.Stamp, r.Epoch}, err
}

// LockTerms keeps others from changing the selling terms until the transaction ends.
func (s Store) LockTerms(ctx context.Context) error { return s.q.LockSellingTerms(ctx) }

// SaveTerms writes the selling terms in the place of those before.
func (s Store) SaveTerms(ctx context.Context, t advice.Terms) error {
	err := errors.Join(s.q.SaveSellingTerms(ctx, storedb.SaveSellingTermsParams{
		HoldingSmall: (*int64)(t.HoldingSmall), HoldingMedium: (*int64)(t.HoldingMedium), HoldingLarge: (*int64)(t.HoldingLarge),
		FeePercent: t.FeePercent, DaysBetweenMarkdowns: t.DaysBetween, MostMarkdowns: t.MostMarkdowns, HorizonDays: t.Horizon,
		SalvagePercent: t.SalvagePercent, Version: t.Version}), s.q.ForgetSellingBeliefs(ctx))
	for n, b := range t.Beliefs {
		err = errors.Join(err, s.q.AddSellingBelief(ctx, storedb.AddSellingBeliefParams{
			KindKey: b.Key, Position: int32(n + 1), Kind: b.Kind, Low: int64(b.Low), High: int64(b.High), DaysLikely: b.DaysLikely}))
	}
	return err
}
