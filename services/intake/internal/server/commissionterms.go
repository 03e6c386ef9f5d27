package server

import (
	"context"

	"github.com/google/uuid"
	"github.com/shopspring/decimal"

	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// theCommissionTerms stands for the one set of them there is where its facts are counted.
var theCommissionTerms = uuid.MustParse("01900000-0000-7000-8000-000000000005")

// GetCommissionTerms implements CommissionService.
func (s *Server) GetCommissionTerms(ctx context.Context, _ *intakev1.GetCommissionTermsRequest) (*intakev1.GetCommissionTermsResponse, error) {
	var t intake.CommissionTerms
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		t, err = store.New(q).CommissionTerms(ctx)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &intakev1.GetCommissionTermsResponse{Terms: s.encodeCommissionTerms(t)}, nil
}

// SetCommissionTerms implements CommissionService.
func (s *Server) SetCommissionTerms(ctx context.Context, r *intakev1.SetCommissionTermsRequest) (*intakev1.SetCommissionTermsResponse, error) {
	now := s.Shop.Now()
	to, err := s.decodeCommissionTerms(r.Terms)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.SetCommissionTermsResponse, error) {
		st := store.New(tx)
		before, err := st.LockCommissionTerms(ctx)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, before.Version); err != nil {
			return nil, err
		}
		t := before.Say(to)
		if err := st.SetCommissionTerms(ctx, t); err != nil {
			return nil, err
		}
		e := &eventsv1.CommissionTermsSet{Rate: s.Shop.ToMoney(t.Rate), MarkupPercent: t.Markup.String(), TaxPercent: t.Tax.String(), DepositPercent: t.Deposit.String(),
			ValidDays: t.ValidDays, CancelRule: string(t.Rule), CancelPercent: t.CancelPercent.String(), LabourUntaxed: t.LabourUntaxed}
		return &intakev1.SetCommissionTermsResponse{Terms: s.encodeCommissionTerms(t)}, s.Log.Append(ctx, tx, outbox.Event{
			Kind: "commission_terms", Aggregate: theCommissionTerms, Version: t.Version, OccurredAt: now, Payload: e}, now)
	})
}

func (s *Server) decodeCommissionTerms(m *intakev1.CommissionTerms) (t intake.CommissionTerms, err error) {
	t = intake.CommissionTerms{ValidDays: m.ValidDays, Rule: cancelRules[m.CancelRule], LabourUntaxed: m.LabourUntaxed}
	if t.Rate, err = s.Shop.Money("terms.rate", m.Rate); err != nil {
		return t, err
	}
	for _, p := range []struct {
		field, text string
		most        int64
		to          *decimal.Decimal
	}{
		{"terms.markup_percent", m.MarkupPercent, intake.MostMarkup, &t.Markup}, {"terms.tax_percent", m.TaxPercent, intake.Whole, &t.Tax},
		{"terms.deposit_percent", m.DepositPercent, intake.Whole, &t.Deposit}, {"terms.cancel_percent", m.CancelPercent, intake.Whole, &t.CancelPercent},
	} {
		d, err := intake.ParsePercent(p.field, p.text, p.most)
		if err != nil {
			return t, err
		}
		if d != nil {
			*p.to = *d
		}
	}
	return t, nil
}

func (s *Server) encodeCommissionTerms(t intake.CommissionTerms) *intakev1.CommissionTerms {
	return &intakev1.CommissionTerms{Rate: s.Shop.ToMoney(t.Rate), MarkupPercent: t.Markup.String(), TaxPercent: t.Tax.String(), DepositPercent: t.Deposit.String(),
		ValidDays: t.ValidDays, CancelRule: named(cancelRules, t.Rule), CancelPercent: t.CancelPercent.String(), LabourUntaxed: t.LabourUntaxed, Etag: wire.Etag(t.Version)}
}
