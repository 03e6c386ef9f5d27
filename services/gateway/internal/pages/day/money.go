package day

import (
	"context"

	"golang.org/x/sync/errgroup"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/clients"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
)

// money is what the day has brought and cost so far, and what of the shop's money is in what. For
// owners; costing refuses it to all others.
type money struct {
	Missing                   bands.Missing
	Revenue, Labour, Material *moneyv1.Money
	InHand, Listed            int
	Provisional               int // pieces whose costs are not final
	Tied                      []*costingv1.GetCashTiedUpResponse_Account
	Total                     *moneyv1.Money
	Most                      []*costingv1.PieceInHand // those that cost most so far
}

// mostCosts is how many of the costliest pieces are named.
const mostCosts = 3

func (*day) money(a *web.Asked) (it money, err error) {
	var shop *costingv1.WatchShopResponse
	var cash *costingv1.GetCashTiedUpResponse
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() (err error) {
		shop, err = shopNow(ctx, a.Kit.Suite)
		return err
	})
	reading.Go(func() (err error) {
		cash, err = a.Kit.Suite.Answers.GetCashTiedUp(ctx, &costingv1.GetCashTiedUpRequest{Pieces: mostCosts})
		return err
	})
	if err := reading.Wait(); err != nil {
		return it, it.Missing.Of(err)
	}
	it.Revenue, it.Labour, it.Material = shop.Today.GetRevenue(), shop.Today.GetLabour(), shop.Today.GetMaterial()
	it.InHand, it.Listed, it.Provisional = int(shop.InHand), int(shop.Listed), int(shop.Provisional)
	it.Total, it.Most = cash.Total, cash.Pieces
	for _, t := range cash.Tied {
		if t.Amount.GetUnits() != 0 || t.Amount.GetNanos() != 0 {
			it.Tied = append(it.Tied, t)
		}
	}
	return it, nil
}

// shopNow takes the first answer of a stream, which is how the shop stands.
func shopNow(ctx context.Context, s *clients.Suite) (*costingv1.WatchShopResponse, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	stream, err := s.Answers.WatchShop(ctx, &costingv1.WatchShopRequest{})
	if err != nil {
		return nil, err
	}
	return stream.Recv()
}
