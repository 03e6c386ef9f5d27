package server

import (
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/costing/internal/books"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// SetPayRate implements PayRateService. The rate is recorded while nothing else is booked,
// so that each stretch of labour is either costed with it or adjusted for it.
func (s *Server) SetPayRate(ctx context.Context, r *costingv1.SetPayRateRequest) (*costingv1.SetPayRateResponse, error) {
	now := s.Shop.Now().UTC().Truncate(time.Microsecond)
	rate, err := s.decodeRate(r)
	if err != nil {
		return nil, err
	}
	// Asked before the transaction, judged inside: a command that was done before is
	// answered as it was then, also when workflow is away now.
	_, personErr := s.People.GetPerson(ctx, &workflowv1.GetPersonRequest{Name: r.Person})
	rate.Actor, rate.RecordedAt = caller.Of(ctx).Actor, now
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.SetPayRateResponse, error) {
		if personErr != nil {
			return nil, atPerson(personErr)
		}
		s.Inbox.Freeze(ctx, tx)
		rate, st := rate, store.New(tx)
		last, err := st.LastRecorded(ctx, rate.Person)
		if err != nil {
			return nil, err
		}
		// After everything booked so far of this person, whatever the clocks say.
		if !rate.RecordedAt.After(last) {
			rate.RecordedAt = last.Add(time.Microsecond)
		}
		b, err := adjust(ctx, st, rate)
		if err != nil {
			return nil, err
		}
		if pieces := b.Pieces(); len(pieces) > 0 {
			tx.After(func() { s.Hub.Tell(pieces) })
		}
		return &costingv1.SetPayRateResponse{PayRate: s.encodeRate(rate)}, books.Keep(ctx, tx, b, now)
	})
}

// atPerson says that whom a request names in its field person is not there.
func atPerson(err error) error {
	if f := fault.Of(err); f != nil && f.Reason == "PERSON_NOT_FOUND" {
		return f.At("person")
	}
	return err
}

// adjust records the new rate and costs again what it changes.
func adjust(ctx context.Context, st store.Store, rate costing.Rate) (*costing.Book, error) {
	b := costing.NewBook()
	if err := st.InsertRate(ctx, rate); err != nil {
		return b, err
	}
	rates, err := st.Rates(ctx, []id.ID{rate.Person})
	if err != nil {
		return b, err
	}
	stretches, err := st.StretchesAfter(ctx, rate.Person, rate.From)
	if err != nil {
		return b, err
	}
	newest := len(rates[rate.Person]) - 1
	for _, stretch := range stretches {
		if t, changes := stretch.Adjustment(rates, newest); changes {
			b.Post(t)
		}
	}
	return b, nil
}

func (s *Server) decodeRate(r *costingv1.SetPayRateRequest) (rate costing.Rate, err error) {
	rate.ID = id.New()
	if rate.Person, err = id.One("person", r.Person, "people"); err != nil {
		return rate, err
	}
	if rate.PerHour, err = s.Shop.Money("per_hour", r.PerHour); err != nil {
		return rate, err
	}
	if rate.Day, err = wire.Day("effective_date", r.EffectiveDate); err != nil {
		return rate, err
	}
	if soonest, latest := wire.Oldest, s.Shop.Now().AddDate(2, 0, 0); rate.Day.Before(soonest) || rate.Day.After(latest) {
		return rate, fault.New(fault.Invalid, "DATE_ABSURD", "A rate begins between the year 2000 and two years from now; check the date.").At("effective_date")
	}
	rate.From = time.Date(rate.Day.Year(), rate.Day.Month(), rate.Day.Day(), 0, 0, 0, 0, s.Shop.Zone).UTC()
	return rate, nil
}

func (s *Server) encodeRate(r costing.Rate) *costingv1.PayRate {
	return &costingv1.PayRate{Person: id.Name("people", r.Person), PerHour: s.Shop.ToMoney(r.PerHour),
		EffectiveDate: wire.ToDay(r.Day), Actor: r.Actor, CreateTime: wire.ToInstant(r.RecordedAt)}
}

// ListPayRates implements PayRateService.
func (s *Server) ListPayRates(ctx context.Context, r *costingv1.ListPayRatesRequest) (*costingv1.ListPayRatesResponse, error) {
	person, after := id.Nil, id.Nil
	if r.Person != "" {
		var err error
		if person, err = id.One("person", r.Person, "people"); err != nil {
			return nil, err
		}
	}
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var rates []costing.Rate
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		rates, err = store.New(q).ListRates(ctx, person, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &costingv1.ListPayRatesResponse{NextPageToken: page.Next(rates, size, func(r costing.Rate) any { return r.ID })}
	for _, rate := range rates {
		out.PayRates = append(out.PayRates, s.encodeRate(rate))
	}
	return out, nil
}
