package server

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/inbox"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
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
		if err := s.final(ctx, st, months, month, logs); err != nil {
			return nil, err
		}
		c := months.NewClose(month, settlements[r.Settlement], r.WithIndirectLabour)
		if err := s.byItself(months, c, r.WithEarlier); err != nil {
			return nil, err
		}
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
func (s *Server) final(ctx context.Context, st store.Store, months *costing.Months, month costing.Month, logs map[string]record) error {
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
	return s.payable(ctx, st, months, month)
}

// payable refuses a month with labour up to its end, of whatever week, that the payroll would refuse.
// Faults: PAY_RATE_MISSING, ENTRIES_OVERLAP.
func (s *Server) payable(ctx context.Context, st store.Store, months *costing.Months, month costing.Month) error {
	after, err := s.unchecked(ctx, st, months)
	if err != nil {
		return err
	}
	work, terms, err := st.Labour(ctx, after, month.To)
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

// apart is more than clocks of machines differ by.
const apart = 24 * time.Hour

// unchecked is from when on there may be labour that no close has held against the payroll: after the last
// closed month, and where something of before was told since then from the beginning of its week.
func (s *Server) unchecked(ctx context.Context, st store.Store, months *costing.Months) (time.Time, error) {
	last, some := months.LastClose()
	if !some {
		return time.Time{}, nil
	}
	began, err := st.LabourToldSince(ctx, last.At.Add(-apart), last.Month.To)
	if began.After(last.Month.To) {
		began = last.Month.To
	}
	return costing.WeekOf(began.In(s.Shop.Zone), s.Shop.Zone).From.Add(-labour.MaxBreak), err
}

// byItself refuses a close that would settle overhead of months before its own, unless that is what is
// wanted. Fault: EARLIER_MONTHS_TAKEN_IN.
func (s *Server) byItself(months *costing.Months, c costing.Close, wanted bool) error {
	earlier := months.TakesIn(c)
	if wanted || len(earlier) == 0 {
		return nil
	}
	var names, says []string
	var under money.Amount
	for _, e := range earlier {
		names = append(names, e.Month.String())
		says = append(says, fmt.Sprintf("%s (carried %s, spent %s)", e.Month, s.Shop.Currency.Format(e.Applied), s.Shop.Currency.Format(e.Spent())))
		under += e.Under()
	}
	return fault.New(fault.Precondition, "EARLIER_MONTHS_TAKEN_IN", "This first close takes in what is before %s, and would settle the overhead of %s with it: %s beyond that of %s alone. Close %s first; or say that it is taken in (--with-earlier on the command line).",
		c.Month, strings.Join(says, ", "), s.Shop.Currency.Format(under), c.Month, names[0]).
		At("month").With("months", strings.Join(names, ", ")).With("under_applied", s.Shop.Currency.Format(under))
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
	parts[0] = months.Before(b).Balances()
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
	return m, s.readOpen(ctx, st, m, now)
}

// monthsThrough reads as much of them as it takes to say what months come to up to one: of closed months the
// ledger is not asked.
func (s *Server) monthsThrough(ctx context.Context, st store.Store, last costing.Month, now time.Time) (*costing.Months, error) {
	closes, err := st.Closes(ctx, s.Shop.Zone)
	if err != nil {
		return nil, err
	}
	m := costing.NewMonths(closes, s.Shop.Zone)
	if m.Closed(last) {
		return m, nil
	}
	return m, s.readOpen(ctx, st, m, now)
}

// readOpen reads what is before the end of the last closed month in one sum, and what is after it by month.
func (s *Server) readOpen(ctx context.Context, st store.Store, m *costing.Months, now time.Time) error {
	parts := []costing.Month{costing.MonthOf(wire.Oldest.AddDate(0, -1, 0), s.Shop.Zone)}
	if last, some := m.LastClose(); some {
		parts[0] = last.Month
	}
	instants := []time.Time{parts[0].To}
	for next := parts[0].Next(s.Shop.Zone); !next.From.After(now); next = next.Next(s.Shop.Zone) {
		parts, instants = append(parts, next), append(instants, next.To)
	}
	parts = append(parts, parts[len(parts)-1].Next(s.Shop.Zone)) // clocks may be a little ahead
	before, err := st.BalancesBefore(ctx, instants[0])
	if err != nil {
		return err
	}
	balances, err := st.BalancesByPart(ctx, instants)
	if len(before) > 0 {
		balances[0] = before
	}
	for part, happened := range balances {
		m.Add(parts[part], happened)
	}
	return err
}

// decodeMonth reads a month by any day of it. Faults: DATE_MALFORMED, DATE_ABSURD.
func (s *Server) decodeMonth(field string, d *date.Date) (costing.Month, error) {
	day, _, err := s.bookDay(field, d)
	return costing.MonthOf(day, s.Shop.Zone), err
}
