package server

import (
	"context"
	"time"

	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// GetClosing implements MonthService.
func (s *Server) GetClosing(ctx context.Context, r *costingv1.GetClosingRequest) (*costingv1.GetClosingResponse, error) {
	at, err := s.Shop.Instant("time", r.Time)
	if err != nil {
		return nil, err
	}
	started, err := s.Shop.Instant("start_time", r.StartTime)
	if err != nil {
		return nil, err
	}
	out := &costingv1.GetClosingResponse{}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		if err := s.monthClosing(ctx, st, at, out); err != nil || r.StartTime == nil {
			return err
		}
		return s.weekClosing(ctx, st, started, out)
	})
	return out, err
}

// monthClosing says whether the month of an instant is closed.
func (s *Server) monthClosing(ctx context.Context, st store.Store, at time.Time, out *costingv1.GetClosingResponse) error {
	open, err := s.openSince(ctx, st)
	if month := costing.MonthOf(at.In(s.Shop.Zone), s.Shop.Zone); month.First.Before(open.First) {
		out.ClosedMonth, out.OpenMonth = wire.ToDay(month.First), wire.ToDay(open.First)
	}
	return err
}

// weekClosing says whether the payroll week of an instant is locked.
func (s *Server) weekClosing(ctx context.Context, st store.Store, at time.Time, out *costingv1.GetClosingResponse) error {
	week := costing.WeekOf(at.In(s.Shop.Zone), s.Shop.Zone)
	locked, err := st.LockedWeeks(ctx, week.Monday)
	if open := week.Unlocked(locked, s.Shop.Zone); open.Monday.After(week.Monday) {
		out.LockedWeek, out.OpenWeek = wire.ToDay(week.Monday), wire.ToDay(open.Monday)
	}
	return err
}
