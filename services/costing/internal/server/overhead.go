package server

import (
	"context"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// bases are the bases of overhead, by their numbers in the contract.
var bases = map[costingv1.OverheadBasis]costing.Basis{
	costingv1.OverheadBasis_OVERHEAD_BASIS_LABOUR_HOUR:  costing.LabourHour,
	costingv1.OverheadBasis_OVERHEAD_BASIS_MACHINE_HOUR: costing.MachineHour,
}

// SetOverheadRate implements OverheadService. It is recorded as a pay rate is.
func (s *Server) SetOverheadRate(ctx context.Context, r *costingv1.SetOverheadRateRequest) (*costingv1.SetOverheadRateResponse, error) {
	now := s.now()
	rate, err := s.decodeOverheadRate(r)
	if err != nil {
		return nil, err
	}
	rate.Actor = caller.Of(ctx).Actor
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.SetOverheadRateResponse, error) {
		rate, left := rate, []string(nil)
		err := s.record(ctx, tx, id.Nil, now, func(st store.Store, at time.Time) (costing.Term, error) {
			known, err := s.admit(ctx, st, &rate, r)
			if err != nil {
				return costing.Term{}, err
			}
			rate.RecordedAt, left = at, rate.Left(known)
			return costing.Term{ID: rate.ID, RecordedAt: at, Overhead: &rate}, st.InsertOverheadRate(ctx, rate)
		})
		if err != nil {
			return nil, err
		}
		planned, err := store.New(tx).StageKinds(ctx)
		return &costingv1.SetOverheadRateResponse{OverheadRate: s.encodeOverheadRate(rate), LeftStageKinds: left,
			UnknownStageKinds: encodeUnknown(costing.UnknownKinds(r.StageKinds, planned))}, err
	})
}

// admit refuses a rate that begins in a closed month or does not go with the others, which it gives. One that adds
// to them has the kinds of stage that its department has.
func (s *Server) admit(ctx context.Context, st store.Store, rate *costing.OverheadRate, r *costingv1.SetOverheadRateRequest) (known []costing.OverheadRate, err error) {
	open, err := s.openSince(ctx, st)
	if err != nil {
		return nil, err
	}
	if err := inOpen("effective_date", rate.Day, open); err != nil {
		return nil, err
	}
	if known, err = st.OverheadRates(ctx); err != nil {
		return nil, err
	}
	if r.Adds {
		*rate = rate.Beside(known)
	}
	return known, rate.Admit(known, r.Replaces)
}

// openSince is the first month that is open; while none was closed, that is the month of the beginning.
func (s *Server) openSince(ctx context.Context, st store.Store) (costing.Month, error) {
	last, some, err := st.LastClosed(ctx)
	if !some {
		return costing.Month{}, err
	}
	return costing.MonthOf(last, s.Shop.Zone).Next(s.Shop.Zone), nil
}

// inOpen refuses a day of a closed month. Fault: MONTH_CLOSED.
func inOpen(field string, day time.Time, open costing.Month) error {
	if day.Before(open.First) {
		last := open.First.AddDate(0, 0, -1).Format("2006-01")
		return fault.New(fault.Precondition, "MONTH_CLOSED", "%s is closed, and what it came to stays; the first month that is open is %s. The other way is to take closes back, the last one first (shop cost month reopen %s): what it settled is reversed, and the month comes to what is known by then until it is closed again.",
			day.Format("2006-01"), open, last).
			At(field).With("month", open.String()).With("last_closed", last)
	}
	return nil
}

func (s *Server) decodeOverheadRate(r *costingv1.SetOverheadRateRequest) (rate costing.OverheadRate, err error) {
	rate = costing.OverheadRate{ID: id.New(), Department: r.Department, StageKinds: r.StageKinds, Basis: bases[r.Basis]}
	if rate.PerHour, err = s.perHour(r.PerHour); err != nil {
		return rate, err
	}
	rate.Day, rate.From, err = s.bookDay("effective_date", r.EffectiveDate)
	return rate, err
}

// bookDay reads a day that the books can have, and its beginning in the shop's zone. Faults:
// DATE_MALFORMED, DATE_ABSURD.
func (s *Server) bookDay(field string, d *date.Date) (day, from time.Time, err error) {
	if day, err = wire.Day(field, d); err != nil {
		return day, from, err
	}
	if soonest, latest := wire.Oldest, s.Shop.Now().AddDate(2, 0, 0); day.Before(soonest) || day.After(latest) {
		return day, from, fault.New(fault.Invalid, "DATE_ABSURD", "The books go from the year 2000 to two years from now; check the date.").At(field)
	}
	return day, time.Date(day.Year(), day.Month(), day.Day(), 0, 0, 0, 0, s.Shop.Zone).UTC(), nil
}

func (s *Server) encodeOverheadRate(r costing.OverheadRate) *costingv1.OverheadRate {
	out := &costingv1.OverheadRate{Department: r.Department, StageKinds: r.StageKinds, PerHour: s.Shop.ToMoney(r.PerHour),
		EffectiveDate: wire.ToDay(r.Day), Actor: r.Actor, CreateTime: wire.ToInstant(r.RecordedAt)}
	for number, basis := range bases {
		if basis == r.Basis {
			out.Basis = number
		}
	}
	return out
}

// ListOverheadRates implements OverheadService.
func (s *Server) ListOverheadRates(ctx context.Context, r *costingv1.ListOverheadRatesRequest) (*costingv1.ListOverheadRatesResponse, error) {
	all, next, err := records(ctx, s, r, func(r costing.OverheadRate) id.ID { return r.ID }, func(st store.Store, after id.ID, limit int32) ([]costing.OverheadRate, error) {
		return st.ListOverheadRates(ctx, after, limit)
	})
	if err != nil {
		return nil, err
	}
	return &costingv1.ListOverheadRatesResponse{OverheadRates: encoded(all, s.encodeOverheadRate), NextPageToken: next}, nil
}
