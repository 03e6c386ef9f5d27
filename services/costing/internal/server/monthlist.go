package server

import (
	"context"

	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

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
		out.Months = append(out.Months, s.encodeMonth(months, month))
	}
	return out, nil
}

// encodeMonth writes how a month stands, and the closes of it that were taken back.
func (s *Server) encodeMonth(months *costing.Months, month costing.Month) *costingv1.Month {
	out := s.encodeOpen(months, month)
	if c := months.Close(month); c != nil {
		out = s.encodeClose(*c)
	}
	for _, c := range months.Undone(month) {
		out.Reopenings = append(out.Reopenings, &costingv1.Month_Reopening{CloseTime: wire.ToInstant(c.At), ClosedBy: c.Actor,
			Profit:     s.Shop.ToMoney(s.Keeper.Rules.Earnings(c.Counted).Profit),
			ReopenTime: wire.ToInstant(c.Reopened.At), ReopenedBy: c.Reopened.Actor, Reason: c.Reopened.Reason})
	}
	return out
}

func (s *Server) encodeClose(c costing.Close) *costingv1.Month {
	out := &costingv1.Month{FirstDate: wire.ToDay(c.Month.First), CloseTime: wire.ToInstant(c.At), ClosedBy: c.Actor, WithIndirectLabour: c.WithIndirect,
		Applied: s.Shop.ToMoney(c.Applied), Actual: s.Shop.ToMoney(c.Actual), IndirectLabour: s.Shop.ToMoney(c.Indirect), UnderApplied: s.Shop.ToMoney(c.Under()),
		Late: s.Shop.ToMoney(s.Keeper.Rules.Earnings(c.Late).Profit), Profit: s.Shop.ToMoney(s.Keeper.Rules.Earnings(c.Counted).Profit)}
	if c.Since.Before(c.Month.First) {
		out.SinceDate = wire.ToDay(c.Since)
	}
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
	c.Late = months.LateOf(month).Balances()
	out := s.encodeClose(c)
	out.Settlement, out.CloseTime = costingv1.Month_SETTLEMENT_UNSPECIFIED, nil
	return out
}
