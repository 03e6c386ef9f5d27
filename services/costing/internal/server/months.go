package server

import (
	"context"
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
	now := s.Shop.Now().UTC().Truncate(time.Microsecond)
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
		if err := allBooked(ctx, st, month, logs); err != nil {
			return nil, err
		}
		c := costing.NewClose(month, settlements[r.Settlement], r.WithIndirectLabour, months.Of(month))
		c.Actor, c.At = caller.Of(ctx).Actor, now
		if err := s.closeMonth(ctx, tx, months, &c); err != nil {
			return nil, err
		}
		return &costingv1.CloseMonthResponse{Month: s.encodeClose(c)}, nil
	})
}

// ripe reads the books up to a month whose turn it is to be closed. Faults: MONTH_NOT_OVER,
// MONTH_CLOSED, EARLIER_MONTH_OPEN.
func (s *Server) ripe(ctx context.Context, st store.Store, month costing.Month, now time.Time) (*costing.Months, error) {
	months, err := s.months(ctx, st, now)
	if err != nil {
		return nil, err
	}
	open, some := months.FirstOpen()
	switch {
	case months.Closed(month):
		return nil, inOpen("month", month.First, open)
	case now.Before(month.To):
		return nil, fault.New(fault.Precondition, "MONTH_NOT_OVER", "%s goes on until %s; close it then.", month, month.To.In(s.Shop.Zone).Format("2006-01-02 15:04 MST")).At("month")
	case some && open.First.Before(month.First):
		return nil, fault.New(fault.Precondition, "EARLIER_MONTH_OPEN", "%s is not closed; close that one first.", open).At("month").With("month", open.String())
	}
	return months, nil
}

// allBooked refuses a month of which not all is known. Faults: BOOKS_BEHIND, CLOCKS_RUNNING,
// REVIEWS_OPEN.
func allBooked(ctx context.Context, st store.Store, month costing.Month, logs map[string]record) error {
	for name, log := range logs {
		if err := booked(ctx, st, name, log); err != nil {
			return err
		}
	}
	return clockedOff(ctx, st, "month", month.To)
}

// closeMonth books and writes a close, with what the month comes to then.
func (s *Server) closeMonth(ctx context.Context, tx *pg.Tx, months *costing.Months, c *costing.Close) error {
	st := store.New(tx)
	if c.Settlement == costing.Prorated {
		carried, err := st.Carried(ctx, c.Month.From, c.Month.To)
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
	all, err := st.BalancesBefore(ctx, c.Month.To) // with what was just booked
	if err != nil {
		return err
	}
	c.Count(months, all, s.Keeper.Rules)
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
	if n := len(closes); n > 0 {
		parts[0] = closes[n-1].Month
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

// ListMonths implements MonthService.
func (s *Server) ListMonths(ctx context.Context, _ *costingv1.ListMonthsRequest) (*costingv1.ListMonthsResponse, error) {
	now := s.Shop.Now().UTC()
	var months *costing.Months
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		months, err = s.months(ctx, store.New(q), now)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &costingv1.ListMonthsResponse{}
	month, some := months.Span()
	for ; some && !month.From.After(now); month = month.Next(s.Shop.Zone) {
		if c := months.Close(month); c != nil {
			out.Months = append(out.Months, s.encodeClose(*c))
		} else {
			out.Months = append(out.Months, s.encodeOpen(months, month))
		}
	}
	return out, nil
}

func (s *Server) encodeClose(c costing.Close) *costingv1.Month {
	out := &costingv1.Month{FirstDate: wire.ToDay(c.Month.First), CloseTime: wire.ToInstant(c.At), ClosedBy: c.Actor, WithIndirectLabour: c.WithIndirect,
		Applied: s.Shop.ToMoney(c.Applied), Actual: s.Shop.ToMoney(c.Actual), IndirectLabour: s.Shop.ToMoney(c.Indirect), UnderApplied: s.Shop.ToMoney(c.Under()),
		Late: s.Shop.ToMoney(c.Late), Profit: s.Shop.ToMoney(s.Keeper.Rules.Earnings(c.Counted).Profit)}
	for number, settlement := range settlements {
		if settlement == c.Settlement {
			out.Settlement = number
		}
	}
	return out
}

// encodeOpen writes what an open month comes to so far; what is late counts in the first of them.
func (s *Server) encodeOpen(months *costing.Months, month costing.Month) *costingv1.Month {
	figures := months.Of(month)
	c := costing.NewClose(month, costing.ToSold, false, figures)
	c.Counted = figures.Balances()
	if first, some := months.FirstOpen(); some && first.First.Equal(month.First) {
		c.Late = s.Keeper.Rules.Earnings(months.Late().Balances()).Profit
	}
	out := s.encodeClose(c)
	out.Settlement, out.CloseTime = costingv1.Month_SETTLEMENT_UNSPECIFIED, nil
	return out
}
