package server

import (
	"context"
	"fmt"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// closed reads up to when payroll weeks and months are closed.
func (s *Server) closed(ctx context.Context, st store.Store) (c costing.Closed, err error) {
	locks, err := st.PayLocks(ctx)
	if err != nil {
		return c, err
	}
	if n := len(locks); n > 0 {
		c.Paid = costing.WeekOf(locks[n-1].Monday, s.Shop.Zone).To
	}
	open, err := s.openSince(ctx, st)
	c.Booked = open.From
	return c, err
}

// inTime refuses what begins at an instant and, as the book has it, changes weeks or months that are closed.
// What begins after them may do so nevertheless, for a week's premium is one sum over a month's end. Fault:
// COUNTS_LATE.
func (s *Server) inTime(ctx context.Context, st store.Store, field string, from time.Time, b *costing.Book, begins map[id.ID]time.Time) error {
	closed, err := s.closed(ctx, st)
	if err != nil || !closed.Before(from) {
		return err
	}
	late := b.Late(closed, begins)
	if late.None() {
		return nil
	}
	return s.countsLate(late).At(field)
}

func (s *Server) countsLate(l costing.Late) *fault.Fault {
	weeks, months := span(l.Weeks, time.DateOnly), span(l.Months, "2006-01")
	pay, burden := s.Shop.Currency.Format(l.Pay), s.Shop.Currency.Format(l.Burden)
	var what, counts []string
	if weeks != "" {
		what, counts = append(what, "locked payroll weeks ("+weeks+")"), append(counts, "is paid with the first week that is open")
	}
	if months != "" {
		what, counts = append(what, "closed months ("+months+")"), append(counts, "counts in the first month that is open")
	}
	return fault.New(fault.Precondition, "COUNTS_LATE", "It changes %s: pay by %s, and the burden on it by %s. Those stay as they are. Say that it may be paid late (pay_late, or --pay-late), and the difference %s; or give a later day.",
		strings.Join(what, " and "), pay, burden, strings.Join(counts, " and ")).
		With("weeks", weeks).With("months", months).With("pay", pay).With("burden", burden)
}

// span names the first and the last of days.
func span(days []time.Time, layout string) string {
	switch n := len(days); n {
	case 0:
		return ""
	case 1:
		return days[0].Format(layout)
	default:
		return fmt.Sprintf("%s to %s", days[0].Format(layout), days[n-1].Format(layout))
	}
}
