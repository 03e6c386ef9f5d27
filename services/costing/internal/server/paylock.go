package server

import (
	"context"
	"fmt"
	"strings"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/inbox"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// clocks is the service that keeps the clocks.
const clocks = "workflow"

// record is how far a producer's log goes, or why it could not be asked.
type record struct {
	heads []inbox.Head
	epoch string
	err   error
}

// LockPayrollWeek implements PayrollService. It is done while nothing is booked, so what it
// counts is all that is booked, and what is booked later is late. Workflow is asked before
// the transaction and the answer judged inside, as in SetPayRate; it is not told of the lock,
// for it may go on correcting what was worked in the week.
func (s *Server) LockPayrollWeek(ctx context.Context, r *costingv1.LockPayrollWeekRequest) (*costingv1.LockPayrollWeekResponse, error) {
	now := s.now()
	week, err := s.decodeWeek(r.Date)
	if err != nil {
		return nil, err
	}
	var log record
	log.heads, log.epoch, log.err = inbox.Heads(ctx, s.Keeper.Producers[clocks], time.Time{})
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.LockPayrollWeekResponse, error) {
		s.Inbox.Freeze(ctx, tx)
		st := store.New(tx)
		if err := s.upToDate(ctx, st); err != nil {
			return nil, err
		}
		payroll, err := s.closable(ctx, st, week, now)
		if err != nil {
			return nil, err
		}
		if err := s.complete(ctx, st, week, log); err != nil {
			return nil, err
		}
		lock := costing.PayLock{Monday: week.Monday, At: now, Actor: caller.Of(ctx).Actor, Lines: payroll.Of(week)}
		if err := rated(lock.Lines, "lock the week"); err != nil {
			return nil, err
		}
		if err := untangled(lock.Lines); err != nil {
			return nil, err
		}
		return &costingv1.LockPayrollWeekResponse{PayrollWeek: s.encodeWeek(lock)}, st.InsertPayLock(ctx, lock)
	})
}

// closable reads the payroll up to a week whose turn it is to be locked. Faults:
// WEEK_NOT_OVER, WEEK_LOCKED, EARLIER_WEEK_OPEN.
func (s *Server) closable(ctx context.Context, st store.Store, week costing.Week, now time.Time) (*costing.Payroll, error) {
	locks, err := st.PayLocks(ctx)
	if err != nil {
		return nil, err
	}
	if known, locked := lockOf(week, locks); locked {
		return nil, fault.New(fault.Precondition, "WEEK_LOCKED", "The week of %s was locked by %s on %s; what is corrected in it counts in the next one that is open.",
			dayOf(week.Monday), known.Actor, dayOf(known.At.In(s.Shop.Zone))).At("date")
	}
	if now.Before(week.To) {
		return nil, fault.New(fault.Precondition, "WEEK_NOT_OVER", "The week of %s goes on until %s; lock it then.",
			dayOf(week.Monday), week.To.In(s.Shop.Zone).Format("2006-01-02 15:04 MST")).At("date")
	}
	payroll, err := s.payroll(ctx, st, locks, time.Time{}, week.To)
	if err != nil {
		return nil, err
	}
	if first, open := payroll.FirstOpen(); open && first.Monday.Before(week.Monday) {
		return nil, fault.New(fault.Precondition, "EARLIER_WEEK_OPEN", "The week of %s has labour and is not locked; lock that one first.", dayOf(first.Monday)).
			At("date").With("week", dayOf(first.Monday))
	}
	return payroll, nil
}

// complete refuses a week of which not all is known. Faults: BOOKS_BEHIND, CLOCKS_RUNNING,
// REVIEWS_OPEN.
func (s *Server) complete(ctx context.Context, st store.Store, week costing.Week, log record) error {
	if err := booked(ctx, st, clocks, log); err != nil {
		return err
	}
	return clockedOff(ctx, st, "week", week.To)
}

// booked refuses books that have not all that a producer has recorded. Fault: BOOKS_BEHIND.
func booked(ctx context.Context, st store.Store, producer string, log record) error {
	if log.err != nil {
		return log.err
	}
	behind, err := st.Behind(ctx, producer, log.epoch, log.heads)
	switch {
	case err != nil:
		return err
	case behind.Refused > 0:
		return fault.New(fault.Precondition, "BOOKS_BEHIND", "%d event(s) of %s could not be booked; see the dead letters, and retry them once they are mended.", behind.Refused, producer).
			With("refused", fmt.Sprint(behind.Refused)).With("service", producer)
	case behind != store.Behind{}:
		return fault.New(fault.Precondition, "BOOKS_BEHIND", "The books have not taken in all that %s has recorded; try again in a moment.", producer).With("service", producer)
	}
	return nil
}

// clockedOff refuses a week or a month up to whose end not all labour is known. Faults:
// CLOCKS_RUNNING, REVIEWS_OPEN.
func clockedOff(ctx context.Context, st store.Store, span string, until time.Time) error {
	names, err := st.RunningBefore(ctx, until)
	if err != nil {
		return err
	}
	if all := strings.Join(names, ", "); all != "" {
		return fault.New(fault.Precondition, "CLOCKS_RUNNING", "On the clock since that %s or before: %s. Clock them off first, at the right time.", span, all).With("people", all)
	}
	names, err = st.ReviewedBefore(ctx, until)
	if all := strings.Join(names, ", "); err == nil && all != "" {
		return fault.New(fault.Precondition, "REVIEWS_OPEN", "Of that %s or before, entries that were set aside or clocks that were forgotten wait for the lead: %s. Settle them first.", span, all).With("people", all)
	}
	return err
}

// rated refuses hours that nobody has said what they are paid, and tells what to do once that is said. Fault:
// PAY_RATE_MISSING.
func rated(lines []costing.PayLine, then string) error {
	if all := strings.Join(costing.RatesMissing(lines), ", "); all != "" {
		return fault.New(fault.Precondition, "PAY_RATE_MISSING", "No pay rate is known for work of %s. Set one from that day or before, then %s.", all, then).With("people", all)
	}
	return nil
}

// untangled refuses entries that cannot all be right, for then nobody knows what is overtime. Fault:
// ENTRIES_OVERLAP.
func untangled(lines []costing.PayLine) error {
	if all := strings.Join(costing.Tangles(lines), " "); all != "" {
		return fault.New(fault.Precondition, "ENTRIES_OVERLAP", "Entries contradict each other. %s Correct them first, for the pay rule counts overtime by them.", all).With("people", all)
	}
	return nil
}

func dayOf(t time.Time) string { return t.Format(time.DateOnly) }
