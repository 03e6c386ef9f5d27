package server

import (
	"context"
	"slices"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/inbox"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// settlements are what becomes of the difference, by their numbers in the contract.
var settlements = map[costingv1.Month_Settlement]costing.Settlement{
	costingv1.Month_SETTLEMENT_COST_OF_GOODS_SOLD: costing.ToSold,
	costingv1.Month_SETTLEMENT_PRORATED:           costing.Prorated,
}

// CloseMonth implements MonthService. It is done while nothing is booked, so what it counts is all
// that is booked, and what is booked later is late. All who tell the books are asked before the
// transaction and their answers judged inside, as in SetPayRate.
func (s *Server) CloseMonth(ctx context.Context, r *costingv1.CloseMonthRequest) (*costingv1.CloseMonthResponse, error) {
	now := s.now()
	month, err := s.decodeMonth("month", r.Month)
	if err != nil {
		return nil, err
	}
	logs := map[string]record{}
	for name, producer := range s.Keeper.Producers {
		var log record
		log.heads, log.epoch, log.err = inbox.Heads(ctx, producer, time.Time{})
		logs[name] = log
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.CloseMonthResponse, error) {
		s.Keeper.Freeze(ctx, tx)
		st := store.New(tx)
		months, err := s.ripe(ctx, st, month, now)
		if err != nil {
			return nil, err
		}
		if err := s.final(ctx, st, month, logs); err != nil {
			return nil, err
		}
		c := months.NewClose(month, settlements[r.Settlement], r.WithIndirectLabour)
		c.Actor, c.At = caller.Of(ctx).Actor, now
		if err := s.closeMonth(ctx, tx, months, &c); err != nil {
			return nil, err
		}
		return &costingv1.CloseMonthResponse{Month: s.encodeClose(c)}, nil
	})
}

// ripe reads the books up to a month whose turn it is to be closed. The first close ever takes in what
// is before. Faults: MONTH_NOT_OVER, MONTH_CLOSED, EARLIER_MONTH_OPEN.
func (s *Server) ripe(ctx context.Context, st store.Store, month costing.Month, now time.Time) (*costing.Months, error) {
	months, err := s.months(ctx, st, now)
	if err != nil {
		return nil, err
	}
	open, _ := months.FirstOpen()
	switch {
	case months.Closed(month):
		return nil, inOpen("month", month.First, open)
	case now.Before(month.To):
		return nil, fault.New(fault.Precondition, "MONTH_NOT_OVER", "%s goes on until %s; close it then.", month, month.To.In(s.Shop.Zone).Format("2006-01-02 15:04 MST")).At("month")
	case months.AnyClosed() && open.First.Before(month.First):
		return nil, fault.New(fault.Precondition, "EARLIER_MONTH_OPEN", "%s is not closed; close that one first.", open).At("month").With("month", open.String())
	}
	return months, nil
}

// final refuses a month of which not all is known. Faults: BOOKS_OUTDATED, BOOKS_BEHIND, CLOCKS_RUNNING,
// REVIEWS_OPEN, PAY_RATE_MISSING, ENTRIES_OVERLAP.
func (s *Server) final(ctx context.Context, st store.Store, month costing.Month, logs map[string]record) error {
	if err := s.upToDate(ctx, st); err != nil {
		return err
	}
	for name, log := range logs {
		if err := booked(ctx, st, name, log); err != nil {
			return err
		}
	}
	if err := clockedOff(ctx, st, "month", month.To); err != nil {
		return err
	}
	return s.payable(ctx, st, month)
}

// payable refuses a month with labour up to its end, of whatever week, that the payroll would refuse.
// Faults: PAY_RATE_MISSING, ENTRIES_OVERLAP.
func (s *Server) payable(ctx context.Context, st store.Store, month costing.Month) error {
	work, terms, err := st.Labour(ctx, time.Time{}, month.To)
	if err != nil {
		return err
	}
	work = slices.DeleteFunc(work, func(w costing.Stretch) bool { return !w.End.Before(month.To) }) // they are of the next month
	doubts := costing.NewPayroll(work, terms, nil, s.Shop.Zone).Doubts()
	if err := rated(doubts, "close the month"); err != nil {
		return err
	}
	return untangled(doubts)
}

// closeMonth books and writes a close, with what the month comes to then.
func (s *Server) closeMonth(ctx context.Context, tx *pg.Tx, months *costing.Months, c *costing.Close) error {
	st, midnights := store.New(tx), c.Midnights(s.Shop.Zone)
	if c.Settlement == costing.Prorated {
		carried, err := st.Carried(ctx, midnights[0], c.Month.To)
		if err != nil {
			return err
		}
		if err := c.Prorate(carried); err != nil {
			return err
		}
	}
	b := costing.NewBook(s.Keeper.Rules)
	b.CloseMonth(*c)
	if err := s.keep(ctx, tx, b, c.At); err != nil {
		return err
	}
	parts, err := st.BalancesByPart(ctx, midnights) // with what was just booked
	if err != nil {
		return err
	}
	c.Count(months, parts, s.Shop.Zone)
	return st.InsertClose(ctx, *c)
}

// months reads the books by month, up to the one in which an instant lies.
func (s *Server) months(ctx context.Context, st store.Store, now time.Time) (*costing.Months, error) {
	closes, err := st.Closes(ctx, s.Shop.Zone)
	if err != nil {
		return nil, err
	}
	m := costing.NewMonths(closes, s.Shop.Zone)
	parts := []costing.Month{costing.MonthOf(wire.Oldest.AddDate(0, -1, 0), s.Shop.Zone)}
	if inForce := costing.InForce(closes); len(inForce) > 0 {
		parts[0] = inForce[len(inForce)-1].Month
	}
	instants := []time.Time{parts[0].To}
	for next := parts[0].Next(s.Shop.Zone); !next.From.After(now); next = next.Next(s.Shop.Zone) {
		parts, instants = append(parts, next), append(instants, next.To)
	}
	parts = append(parts, parts[len(parts)-1].Next(s.Shop.Zone)) // clocks may be a little ahead
	balances, err := st.BalancesByPart(ctx, instants)
	for part, happened := range balances {
		m.Add(parts[part], happened)
	}
	return m, err
}

// decodeMonth reads a month by any day of it. Faults: DATE_MALFORMED, DATE_ABSURD.
func (s *Server) decodeMonth(field string, d *date.Date) (costing.Month, error) {
	day, _, err := s.bookDay(field, d)
	return costing.MonthOf(day, s.Shop.Zone), err
}
