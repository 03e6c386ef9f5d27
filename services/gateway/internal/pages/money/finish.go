package money

import (
	"context"
	"slices"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/clients"
	amounts "tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/words"
)

// finishesOf gives how each piece is to look.
func finishesOf(ctx context.Context, s *clients.Suite) (map[string]string, error) {
	of := map[string]string{}
	costs, err := clients.All(ctx, func(ctx context.Context, token string) ([]*costingv1.PieceCost, string, error) {
		r, err := s.Costing.ListPieceCosts(ctx, &costingv1.ListPieceCostsRequest{PageSize: pageSize, PageToken: token})
		return r.GetPieceCosts(), r.GetNextPageToken(), err
	})
	for _, p := range costs {
		of[p.Piece] = p.Finish
	}
	return of, err
}

// byFinish puts lines of pieces together by their finish, in the order in which finishes first come. All
// figures are sums of what costing says of the pieces; what none of them has stays absent.
func byFinish(lines []*costingv1.PlanActual, finish map[string]string, v *words.Voice) (out []*costingv1.PlanActual) {
	for _, l := range lines {
		key := finish[l.Piece]
		i := slices.IndexFunc(out, func(o *costingv1.PlanActual) bool { return o.Key == key })
		if i < 0 {
			out, i = append(out, &costingv1.PlanActual{Key: key, Title: key}), len(out)
		}
		addPlan(out[i], l, v)
	}
	return out
}

func addPlan(to, l *costingv1.PlanActual, v *words.Voice) {
	to.Stages += l.Stages
	to.StagesLeftOut += l.StagesLeftOut
	to.Provisional = to.Provisional || l.Provisional
	for _, t := range []struct {
		to *(*durationpb.Duration)
		by *durationpb.Duration
	}{{&to.PlannedTime, l.PlannedTime}, {&to.ActualTime, l.ActualTime}, {&to.ReworkTime, l.ReworkTime}, {&to.TimeLeftOut, l.TimeLeftOut}} {
		*t.to = durationpb.New((*t.to).AsDuration() + t.by.AsDuration())
	}
	for _, m := range []struct {
		to *(*moneyv1.Money)
		by *moneyv1.Money
	}{{&to.PlannedCost, l.PlannedCost}, {&to.ActualPay, l.ActualPay}, {&to.PriceVariance, l.PriceVariance},
		{&to.EfficiencyVariance, l.EfficiencyVariance}, {&to.LabourVariance, l.LabourVariance}} {
		*m.to = plus(*m.to, m.by, v)
	}
}

// plus adds two amounts of the shop's currency; what is absent adds nothing.
func plus(a, b *moneyv1.Money, v *words.Voice) *moneyv1.Money {
	switch {
	case a == nil:
		return b
	case b == nil:
		return a
	}
	return wire.Shop{Currency: v.Currency}.ToMoney(amounts.Amount(v.Minor(a) + v.Minor(b)))
}
