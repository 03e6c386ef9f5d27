package server

import (
	"context"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// GetPayrollWeek implements PayrollService.
func (s *Server) GetPayrollWeek(ctx context.Context, r *costingv1.GetPayrollWeekRequest) (*costingv1.GetPayrollWeekResponse, error) {
	week, err := s.decodeWeek(r.Date)
	if err != nil {
		return nil, err
	}
	lock := costing.PayLock{Monday: week.Monday}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		locks, err := st.PayLocks(ctx)
		if err != nil {
			return err
		}
		if known, locked := lockOf(week, locks); locked {
			lock = known
			return nil
		}
		payroll, err := s.payroll(ctx, st, locks, costing.Since(week, locks, s.Shop.Zone), week.To)
		if err != nil {
			return err
		}
		lock.Lines = payroll.Of(week)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return &costingv1.GetPayrollWeekResponse{PayrollWeek: s.encodeWeek(lock)}, nil
}

// payroll makes the payroll of what was worked between two instants, and near them: a paid break may
// reach over either.
func (s *Server) payroll(ctx context.Context, st store.Store, locks []costing.PayLock, after, before time.Time) (*costing.Payroll, error) {
	work, terms, err := st.Labour(ctx, after.Add(-labour.MaxBreak), before.Add(labour.MaxBreak))
	if err != nil {
		return nil, err
	}
	return costing.NewPayroll(work, terms, locks, s.Shop.Zone), nil
}

func lockOf(w costing.Week, locks []costing.PayLock) (costing.PayLock, bool) {
	for _, l := range locks {
		if l.Monday.Equal(w.Monday) {
			return l, true
		}
	}
	return costing.PayLock{}, false
}

func (s *Server) decodeWeek(d *date.Date) (w costing.Week, err error) {
	day, err := wire.Day("date", d)
	if err != nil {
		return w, err
	}
	if soonest, latest := wire.Oldest, s.Shop.Now().AddDate(2, 0, 0); day.Before(soonest) || day.After(latest) {
		return w, fault.New(fault.Invalid, "DATE_ABSURD", "A week of the payroll lies between the year 2000 and two years from now; check the date.").At("date")
	}
	return costing.WeekOf(day, s.Shop.Zone), nil
}

// encodeWeek writes a week; one that is not locked has no time at which it was.
func (s *Server) encodeWeek(l costing.PayLock) *costingv1.PayrollWeek {
	out := &costingv1.PayrollWeek{Week: wire.ToDay(l.Monday), LockTime: wire.ToInstant(l.At), LockedBy: l.Actor}
	for _, line := range l.Lines {
		out.Lines = append(out.Lines, s.encodePayLine(line))
	}
	return out
}

func (s *Server) encodePayLine(l costing.PayLine) *costingv1.PayrollWeek_Line {
	m := s.Shop.ToMoney
	out := &costingv1.PayrollWeek_Line{
		Person: id.Name("people", l.Person), PersonName: l.PersonName,
		LabourTime: durationpb.New(l.Labour), ReworkTime: durationpb.New(l.Rework), IndirectTime: durationpb.New(l.Indirect),
		PaidBreakTime: durationpb.New(l.Breaks), RoundingTime: durationpb.New(l.Rounding), LateTime: durationpb.New(l.Late),
		Time: durationpb.New(l.Time()), Overtime: durationpb.New(l.Overtime),
		Pay: m(l.Pay), PaidBreakPay: m(l.BreakPay), RoundingPay: m(l.RoundingPay), Premium: m(l.Premium), LatePay: m(l.LatePay), Burden: m(l.Burden),
		Notes: l.Notes()}
	if regular, paid := l.Regular(); paid {
		out.RegularRate, out.RegularRateFraction = m(money.Round(regular)), regular.RatString()
	}
	return out
}
