package server

import (
	"context"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// closed reads which payroll weeks and months are closed since an instant.
func (s *Server) closed(ctx context.Context, st store.Store, since time.Time) (costing.Closed, error) {
	locked, err := st.LockedWeeks(ctx, costing.WeekOf(since.In(s.Shop.Zone), s.Shop.Zone).Monday)
	if err != nil {
		return costing.Closed{}, err
	}
	open, err := s.openSince(ctx, st)
	return costing.NewClosed(since, locked, open), err
}

// inTime refuses what begins at an instant and, as the book has it, changes weeks or months that are closed.
// What begins after them may do so nevertheless, for a week's premium is one sum over a month's end. Fault:
// COUNTS_LATE.
func (s *Server) inTime(ctx context.Context, st store.Store, field string, from time.Time, b *costing.Book) error {
	closed, err := s.closed(ctx, st, from)
	if err != nil || closed.Nothing() {
		return err
	}
	late := b.Late(closed)
	if late.None() {
		return nil
	}
	return s.countsLate(late).At(field)
}

func (s *Server) countsLate(l costing.Late) *fault.Fault {
	weeks := spans(l.Weeks, time.DateOnly, func(t time.Time) time.Time { return t.AddDate(0, 0, 7) })
	months := spans(l.Months, "2006-01", func(t time.Time) time.Time { return t.AddDate(0, 1, 0) })
	pay, burden := s.Shop.Currency.Format(l.Pay), s.Shop.Currency.Format(l.Burden)
	var what, counts []string
	if weeks != "" {
		what, counts = append(what, "locked payroll weeks ("+weeks+")"), append(counts, "is paid with the first week that is open")
	}
	if months != "" {
		what, counts = append(what, "closed months ("+months+")"), append(counts, "counts in the first month that is open")
	}
	return fault.New(fault.Precondition, "COUNTS_LATE", "It changes %s: pay by %s, and the burden on it by %s. Those stay as they are. Say that it may be paid late (--pay-late on the command line), and the difference %s; or give a later day.",
		strings.Join(what, " and "), pay, burden, strings.Join(counts, " and ")).
		With("weeks", weeks).With("months", months).With("pay", pay).With("burden", burden)
}

// spans names days, and of those that follow each other the first and the last.
func spans(days []time.Time, layout string, next func(time.Time) time.Time) string {
	var all []string
	for i, first := 0, 0; i < len(days); i++ {
		if i+1 < len(days) && days[i+1].Equal(next(days[i])) {
			continue
		}
		name := days[first].Format(layout)
		if i > first {
			name += " to " + days[i].Format(layout)
		}
		all, first = append(all, name), i+1
	}
	return strings.Join(all, ", ")
}
