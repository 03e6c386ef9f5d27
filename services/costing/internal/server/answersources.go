package server

import (
	"context"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
)

// CompareSources implements AnswerService.
func (s *Server) CompareSources(ctx context.Context, r *costingv1.CompareSourcesRequest) (*costingv1.CompareSourcesResponse, error) {
	period, err := s.period(r.FromDate, r.ToDate)
	if err != nil {
		return nil, err
	}
	var bought []costing.Sheet
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		bought, err = s.sheets(q).Bought(ctx, period)
		return err
	})
	if err != nil {
		return nil, err
	}
	sources, total, err := costing.CompareSources(bought)
	if err != nil {
		return nil, err
	}
	out := &costingv1.CompareSourcesResponse{Total: s.encodeSource(total)}
	for _, e := range sources {
		out.Sources = append(out.Sources, s.encodeSource(e))
	}
	return out, nil
}

func (s *Server) encodeSource(e costing.Source) *costingv1.SourceCompared {
	m := s.Shop.ToMoney
	out := &costingv1.SourceCompared{Key: e.Key, Title: e.Title, Bought: e.Bought, Unsold: e.Unsold, Sold: e.Sold, GivenUp: e.GivenUp, Paid: m(e.Paid), Profit: m(e.Profit()),
		Time: durationpb.New(e.LabourTime + e.ReworkTime), Lost: m(e.Lost), PerHourLow: s.maybe(e.Low), PerHourHigh: s.maybe(e.High), PerHourPooled: s.maybe(e.Pooled),
		Few: e.Sold < costing.FewSold}
	if e.Sold > 0 {
		out.MedianDays = &e.MedianDays
	}
	if perHour, ok := e.PerLabourHour(); ok {
		out.ProfitPerLabourHour = m(perHour)
	}
	return out
}

// maybe writes an amount that may be missing.
func (s *Server) maybe(a *money.Amount) *moneyv1.Money {
	if a == nil {
		return nil
	}
	return s.Shop.ToMoney(*a)
}
