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
		rate := rate
		err := s.record(ctx, tx, id.Nil, now, func(st store.Store, at time.Time) (costing.Term, error) {
			rate.RecordedAt = at
			if err := s.admit(ctx, st, rate, r.Replaces); err != nil {
				return costing.Term{}, err
			}
			return costing.Term{ID: rate.ID, RecordedAt: at, Overhead: &rate}, st.InsertOverheadRate(ctx, rate)
		})
		if err != nil {
			return nil, err
		}
		planned, err := store.New(tx).StageKinds(ctx)
		return &costingv1.SetOverheadRateResponse{OverheadRate: s.encodeOverheadRate(rate), UnknownStageKinds: encodeUnknown(costing.UnknownKinds(rate.StageKinds, planned))}, err
	})
}

// admit refuses a rate that begins in a closed month or does not go with the others.
func (s *Server) admit(ctx context.Context, st store.Store, rate costing.OverheadRate, replaces bool) error {
	open, err := s.openSince(ctx, st)
	if err != nil {
		return err
	}
	if err := inOpen("effective_date", rate.Day, open); err != nil {
		return err
	}
	known, err := st.OverheadRates(ctx)
	if err != nil {
		return err
	}
	return rate.Admit(known, replaces)
}

// openSince is the first month that is open; while none was closed, that is the month of the beginning.
func (s *Server) openSince(ctx context.Context, st store.Store) (costing.Month, error) {
	all, err := st.Closes(ctx, s.Shop.Zone)
	closes := costing.InForce(all)
	if n := len(closes); n > 0 {
		return closes[n-1].Month.Next(s.Shop.Zone), err
	}
	return costing.Month{}, err
}

// inOpen refuses a day of a closed month. Fault: MONTH_CLOSED.
func inOpen(field string, day time.Time, open costing.Month) error {
	if day.Before(open.First) {
		return fault.New(fault.Precondition, "MONTH_CLOSED", "%s is closed, and what it came to stays; the first month that is open is %s.", day.Format("2006-01"), open).
			At(field).With("month", open.String())
	}
	return nil
}

func (s *Server) decodeOverheadRate(r *costingv1.SetOverheadRateRequest) (rate costing.OverheadRate, err error) {
	rate = costing.OverheadRate{ID: id.New(), Department: r.Department, StageKinds: r.StageKinds, Basis: bases[r.Basis]}
	if rate.PerHour, err = s.Shop.Money("per_hour", r.PerHour); err != nil {
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
