package server

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"google.golang.org/genproto/googleapis/type/money"

	moneypkg "tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/advice"
	"tackfree/services/sales/internal/store"
)

// sellingTerms is the one aggregate of its kind: a shop has one set of terms.
var sellingTerms = uuid.NewSHA1(uuid.NameSpaceURL, []byte("tackfree/selling_terms"))

// GetSellingTerms implements PriceAdviceService.
func (s *Server) GetSellingTerms(ctx context.Context, _ *salesv1.GetSellingTermsRequest) (*salesv1.GetSellingTermsResponse, error) {
	var terms advice.Terms
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		terms, _, err = store.New(q).Terms(ctx)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &salesv1.GetSellingTermsResponse{Terms: s.encodeTerms(terms), InForce: s.encodeInForce(terms.InForce())}, nil
}

// SetSellingTerms implements PriceAdviceService.
func (s *Server) SetSellingTerms(ctx context.Context, r *salesv1.SetSellingTermsRequest) (*salesv1.SetSellingTermsResponse, error) {
	now := s.Shop.Now()
	said, err := s.decodeTerms(r.Terms)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.SetSellingTermsResponse, error) {
		st, terms := store.New(tx), said
		if err := st.LockTerms(ctx); err != nil {
			return nil, err
		}
		before, _, err := st.Terms(ctx)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, before.Version); err != nil {
			return nil, err
		}
		terms.Version = before.Version + 1
		if err := st.SaveTerms(ctx, terms); err != nil {
			return nil, err
		}
		at := now.UTC()
		return &salesv1.SetSellingTermsResponse{Terms: s.encodeTerms(terms), InForce: s.encodeInForce(terms.InForce())}, s.Log.Append(ctx, tx, outbox.Event{
			Kind: "selling_terms", Aggregate: sellingTerms, Version: terms.Version, OccurredAt: at, Payload: s.termsSet(terms)}, now)
	})
}

// decodeTerms reads terms. Faults: those of money, GUESS_UPSIDE_DOWN, KIND_TWICE.
func (s *Server) decodeTerms(m *salesv1.SellingTerms) (t advice.Terms, err error) {
	t = advice.Terms{FeePercent: m.GetFeePercent(), DaysBetween: m.DaysBetweenMarkdowns, MostMarkdowns: m.MostMarkdowns,
		Horizon: m.HorizonDays, SalvagePercent: m.SalvagePercent}
	for _, h := range []struct {
		field string
		said  *money.Money
		to    **moneypkg.Amount
	}{{"holding_small", m.GetHoldingSmall(), &t.HoldingSmall}, {"holding_medium", m.GetHoldingMedium(), &t.HoldingMedium},
		{"holding_large", m.GetHoldingLarge(), &t.HoldingLarge}} {
		if h.said == nil {
			continue
		}
		cost, err := s.Shop.Money("terms."+h.field, h.said)
		if err != nil {
			return t, err
		}
		*h.to = &cost
	}
	for n, b := range m.GetBeliefs() {
		guess, err := s.decodeGuess(fmt.Sprintf("terms.beliefs[%d].price", n), b.GetPrice())
		if err != nil {
			return t, err
		}
		t.Beliefs = append(t.Beliefs, advice.Belief{Key: wire.NameKey(b.GetKind()), Kind: wire.Name(b.GetKind()), Guess: *guess, DaysLikely: b.GetDaysLikely()})
	}
	return t, t.Check()
}

// decodeGuess reads what somebody believes; absent is nil. Faults: those of money, GUESS_UPSIDE_DOWN.
func (s *Server) decodeGuess(field string, m *salesv1.Guess) (*advice.Guess, error) {
	if m == nil {
		return nil, nil
	}
	low, err := s.Shop.Money(field+".low", m.GetLow())
	if err != nil {
		return nil, err
	}
	high, err := s.Shop.Money(field+".high", m.GetHigh())
	if err != nil {
		return nil, err
	}
	g := &advice.Guess{Low: low, High: high}
	return g, g.Check(field)
}

func (s *Server) encodeTerms(t advice.Terms) *salesv1.SellingTerms {
	return &salesv1.SellingTerms{Beliefs: s.encodeBeliefs(t.Beliefs),
		HoldingSmall: s.said(t.HoldingSmall), HoldingMedium: s.said(t.HoldingMedium), HoldingLarge: s.said(t.HoldingLarge),
		FeePercent: t.FeePercent, DaysBetweenMarkdowns: t.DaysBetween, MostMarkdowns: t.MostMarkdowns, HorizonDays: t.Horizon,
		SalvagePercent: t.SalvagePercent, Etag: wire.Etag(t.Version)}
}

// said is money that somebody said; absent where nobody did.
func (s *Server) said(a *moneypkg.Amount) *money.Money {
	if a == nil {
		return nil
	}
	return s.Shop.ToMoney(*a)
}

func (s *Server) encodeInForce(t advice.InForce) *salesv1.SellingTerms {
	return &salesv1.SellingTerms{Beliefs: s.encodeBeliefs(t.Beliefs),
		HoldingSmall: s.Shop.ToMoney(t.HoldingSmall), HoldingMedium: s.Shop.ToMoney(t.HoldingMedium), HoldingLarge: s.Shop.ToMoney(t.HoldingLarge),
		FeePercent: t.FeePercent, DaysBetweenMarkdowns: &t.DaysBetween, MostMarkdowns: &t.MostMarkdowns, HorizonDays: &t.Horizon, SalvagePercent: &t.SalvagePercent}
}

func (s *Server) encodeBeliefs(beliefs []advice.Belief) (out []*salesv1.SellingTerms_Belief) {
	for _, b := range beliefs {
		out = append(out, &salesv1.SellingTerms_Belief{Kind: b.Kind, DaysLikely: b.DaysLikely,
			Price: &salesv1.Guess{Low: s.Shop.ToMoney(b.Low), High: s.Shop.ToMoney(b.High)}})
	}
	return out
}

// termsSet tells what was said, and nothing where nobody did.
func (s *Server) termsSet(t advice.Terms) *eventsv1.SellingTermsSet {
	out := &eventsv1.SellingTermsSet{
		HoldingSmall: s.said(t.HoldingSmall), HoldingMedium: s.said(t.HoldingMedium), HoldingLarge: s.said(t.HoldingLarge),
		FeePercent: t.FeePercent, DaysBetweenMarkdowns: t.DaysBetween, MostMarkdowns: t.MostMarkdowns, HorizonDays: t.Horizon, SalvagePercent: t.SalvagePercent}
	for _, b := range t.Beliefs {
		out.Beliefs = append(out.Beliefs, &eventsv1.SellingTermsSet_Belief{Kind: b.Kind, Low: s.Shop.ToMoney(b.Low), High: s.Shop.ToMoney(b.High), DaysLikely: b.DaysLikely})
	}
	return out
}
