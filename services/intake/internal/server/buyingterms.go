package server

import (
	"context"

	"github.com/google/uuid"

	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// theTerms stands for the one set of terms there is where its facts are counted.
var theTerms = uuid.MustParse("01900000-0000-7000-8000-000000000002")

// GetBuyingTerms implements ProspectService.
func (s *Server) GetBuyingTerms(ctx context.Context, _ *intakev1.GetBuyingTermsRequest) (*intakev1.GetBuyingTermsResponse, error) {
	var t intake.BuyingTerms
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		t, err = store.New(q).BuyingTerms(ctx)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &intakev1.GetBuyingTermsResponse{Terms: s.encodeTermsOfBuying(t)}, nil
}

// SetBuyingTerms implements ProspectService.
func (s *Server) SetBuyingTerms(ctx context.Context, r *intakev1.SetBuyingTermsRequest) (*intakev1.SetBuyingTermsResponse, error) {
	now := s.Shop.Now()
	to, err := s.decodeTermsOfBuying(r.Terms)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.SetBuyingTermsResponse, error) {
		st := store.New(tx)
		before, err := st.LockBuyingTerms(ctx)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, before.Version); err != nil {
			return nil, err
		}
		t := before.Say(to)
		if err := st.SetBuyingTerms(ctx, t); err != nil {
			return nil, err
		}
		e := &eventsv1.BuyingTermsSet{TargetPerHour: s.Shop.ToMoney(t.Target), Chance: t.Chance, LabourPerHour: s.Shop.ToMoney(t.Labour),
			TravelPerKm: s.Shop.ToMoney(t.PerKM), KmPerHour: t.KMPerHour, HandlingMinutes: t.HandlingMinutes}
		return &intakev1.SetBuyingTermsResponse{Terms: s.encodeTermsOfBuying(t)}, s.Log.Append(ctx, tx, outbox.Event{
			Kind: "buying_terms", Aggregate: theTerms, Version: t.Version, OccurredAt: now, Payload: e}, now)
	})
}

func (s *Server) decodeTermsOfBuying(m *intakev1.BuyingTerms) (t intake.BuyingTerms, err error) {
	t = intake.BuyingTerms{Chance: m.Chance, KMPerHour: m.KmPerHour, HandlingMinutes: intake.UsualHandling}
	if m.HandlingMinutes != nil {
		t.HandlingMinutes = *m.HandlingMinutes
	}
	if t.Target, err = s.Shop.Money("terms.target_per_hour", m.TargetPerHour); err != nil {
		return t, err
	}
	if t.Labour, err = s.Shop.Money("terms.labour_per_hour", m.LabourPerHour); err != nil {
		return t, err
	}
	t.PerKM, err = s.Shop.Money("terms.travel_per_km", m.TravelPerKm)
	return t, err
}

func (s *Server) encodeTermsOfBuying(t intake.BuyingTerms) *intakev1.BuyingTerms {
	return &intakev1.BuyingTerms{TargetPerHour: s.Shop.ToMoney(t.Target), Chance: t.Chance, LabourPerHour: s.Shop.ToMoney(t.Labour), TravelPerKm: s.Shop.ToMoney(t.PerKM),
		KmPerHour: t.KMPerHour, HandlingMinutes: &t.HandlingMinutes, Etag: wire.Etag(t.Version)}
}
