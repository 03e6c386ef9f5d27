package server

import (
	"context"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// SetPayRate implements PayRateService. The rate is recorded while nothing else is booked,
// so that each stretch of labour is either costed with it or adjusted for it. What it changes of locked
// weeks and closed months counts late, where the request says that it may.
func (s *Server) SetPayRate(ctx context.Context, r *costingv1.SetPayRateRequest) (*costingv1.SetPayRateResponse, error) {
	now := s.now()
	rate, err := s.decodeRate(r)
	if err != nil {
		return nil, err
	}
	// Asked before the transaction, judged inside: a command that was done before is
	// answered as it was then, also when workflow is away now.
	_, personErr := s.People.GetPerson(ctx, &workflowv1.GetPersonRequest{Name: r.Person})
	rate.Actor = caller.Of(ctx).Actor
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.SetPayRateResponse, error) {
		if personErr != nil {
			return nil, atPerson(personErr)
		}
		rate := rate
		err := s.recordPay(ctx, tx, rate.Person, r.PayLate, now, func(st store.Store, at time.Time) (costing.Term, error) {
			rate.RecordedAt = at
			if err := s.rateAlone(ctx, st, rate, r.Replaces); err != nil {
				return costing.Term{}, err
			}
			return costing.Term{ID: rate.ID, RecordedAt: at, Rate: &rate}, st.InsertRate(ctx, rate)
		})
		return &costingv1.SetPayRateResponse{PayRate: s.encodeRate(rate)}, err
	})
}

// rateAlone refuses a second rate of a person from one day on that does not say that it replaces the
// first. Fault: RATE_OVERLAPS.
func (s *Server) rateAlone(ctx context.Context, st store.Store, rate costing.Rate, replaces bool) error {
	known, there, err := st.RateFrom(ctx, rate.Person, rate.Day)
	if err != nil || !there || replaces {
		return err
	}
	amount := s.Shop.Currency.Format(known.PerHour)
	return fault.New(fault.Exists, "RATE_OVERLAPS", "From %s on an hour of theirs costs %s, as %s set it on %s. Say that the new rate replaces it (replaces, or --replace), or give another day.",
		dayOf(known.Day), amount, known.Actor, dayOf(known.RecordedAt.In(s.Shop.Zone))).At("effective_date").With("per_hour", amount).With("effective_date", dayOf(known.Day))
}

// atPerson says that whom a request names in its field person is not there.
func atPerson(err error) error {
	if f := fault.Of(err); f != nil && f.Reason == "PERSON_NOT_FOUND" {
		return f.At("person")
	}
	return err
}

func (s *Server) decodeRate(r *costingv1.SetPayRateRequest) (rate costing.Rate, err error) {
	rate.ID = id.New()
	if rate.Person, err = id.One("person", r.Person, "people"); err != nil {
		return rate, err
	}
	if rate.PerHour, err = s.perHour(r.PerHour); err != nil {
		return rate, err
	}
	rate.Day, rate.From, err = s.bookDay("effective_date", r.EffectiveDate)
	return rate, err
}

// perHour reads what an hour costs. Faults: those of Shop.Money, RATE_ABSURD.
func (s *Server) perHour(m *moneyv1.Money) (money.Amount, error) {
	amount, err := s.Shop.Money("per_hour", m)
	if err != nil {
		return 0, err
	}
	return amount, costing.CheckPerHour(amount, s.Shop.Currency)
}

func (s *Server) encodeRate(r costing.Rate) *costingv1.PayRate {
	return &costingv1.PayRate{Person: id.Name("people", r.Person), PerHour: s.Shop.ToMoney(r.PerHour),
		EffectiveDate: wire.ToDay(r.Day), Actor: r.Actor, CreateTime: wire.ToInstant(r.RecordedAt)}
}

// ListPayRates implements PayRateService.
func (s *Server) ListPayRates(ctx context.Context, r *costingv1.ListPayRatesRequest) (*costingv1.ListPayRatesResponse, error) {
	person, err := somebody(r.Person)
	if err != nil {
		return nil, err
	}
	all, next, err := records(ctx, s, r, func(r costing.Rate) id.ID { return r.ID }, func(st store.Store, after id.ID, limit int32) ([]costing.Rate, error) {
		return st.ListRates(ctx, person, after, limit)
	})
	if err != nil {
		return nil, err
	}
	return &costingv1.ListPayRatesResponse{PayRates: encoded(all, s.encodeRate), NextPageToken: next}, nil
}
