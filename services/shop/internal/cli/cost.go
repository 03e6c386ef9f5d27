package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type costCmd struct {
	Show     showCostCmd  `cmd:"" help:"Show what a piece cost and earned, and who worked on it."`
	List     listCostsCmd `cmd:"" help:"List all pieces with their sums, and the shop's."`
	Watch    watchCostCmd `cmd:"" help:"Show a piece's cost now and at each change, until Ctrl-C."`
	Rate     rateCmd      `cmd:"" help:"Say what an hour of somebody costs from a day on."`
	Rates    ratesCmd     `cmd:"" help:"List the pay rates."`
	Verify   verifyCmd    `cmd:"" help:"Recompute the books from all events and compare; exits 1 at a difference."`
	Rebuild  rebuildCmd   `cmd:"" help:"Recompute the books and put the new ones in place."`
	Dead     deadCmd      `cmd:"" help:"List the events that could not be booked."`
	Retry    retryCmd     `cmd:"" help:"Book one of them again."`
	Progress progressCmd  `cmd:"" help:"Say how far the books are behind the shop."`
}

type showCostCmd struct {
	output
	Piece string `arg:"" help:"Tag number."`
}

func (c *showCostCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Costing.GetPieceCost(e.ctx, &costingv1.GetPieceCostRequest{Piece: p.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp.PieceCost, func() error { return printCost(e.out, resp.PieceCost) })
	})
}

func printCost(w io.Writer, p *costingv1.PieceCost) error {
	fmt.Fprintf(w, "%d  %s, %s\n\n", p.Tag, p.Title, report.State(p.State.String()))
	t := &report.Table{Headings: []string{"", " hours", " amount"}}
	t.Add("revenue", "", report.Money(p.Revenue))
	t.Add("bought for", "", report.Money(p.Acquisition))
	t.Add("labour", report.Hours(p.LabourTime), report.Money(p.Labour))
	t.Add("material", "", report.Money(p.Material))
	t.Add("rework", report.Hours(p.ReworkTime), report.Money(p.Rework))
	t.Add("channel fees", "", report.Money(p.Fees))
	t.Add()
	t.Add("profit", "", report.Money(p.Profit))
	t.Add("profit per labour hour", "", report.Money(p.ProfitPerLabourHour))
	if err := t.Print(w); err != nil {
		return err
	}
	fmt.Fprintln(w)
	work := &report.Table{Headings: []string{"who", "stage", " hours", " cost", ""}}
	for _, l := range p.LabourLines {
		work.Add(l.PersonName, l.StageKind, report.Hours(l.Time), report.Money(l.Cost), map[bool]string{true: "rework"}[l.Rework])
	}
	if err := work.Print(w); err != nil {
		return err
	}
	for _, reason := range p.ProvisionalReasons {
		fmt.Fprintf(w, "\nNot final: %s.\n", reason)
	}
	return nil
}

type listCostsCmd struct{ output }

func (c *listCostsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error { return printShop(e, shop, c.JSON) })
}

// printShop prints all pieces and the shop.
func printShop(e *env, shop *client.Shop, asJSON bool) error {
	pieces, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.PieceCost, string, error) {
		r, err := shop.Costing.ListPieceCosts(ctx, &costingv1.ListPieceCostsRequest{PageSize: 1000, PageToken: token})
		return r.GetPieceCosts(), r.GetNextPageToken(), err
	})
	if err != nil {
		return err
	}
	if asJSON {
		return output{JSON: true}.print(e, &costingv1.ListPieceCostsResponse{PieceCosts: pieces}, nil)
	}
	all, err := shop.Costing.GetShopCost(e.ctx, &costingv1.GetShopCostRequest{})
	if err != nil {
		return err
	}
	if err := report.Pieces(e.out, pieces, all.Total); err != nil {
		return err
	}
	fmt.Fprintln(e.out)
	return report.Shop(e.out, pieces, all.Accounts)
}

type watchCostCmd struct {
	output
	Piece string `arg:"" help:"Tag number."`
}

func (c *watchCostCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		stream, err := shop.Costing.WatchPieceCost(e.ctx, &costingv1.WatchPieceCostRequest{Piece: p.Name})
		if err != nil {
			return err
		}
		for {
			resp, err := stream.Recv()
			if errors.Is(err, io.EOF) || errors.Is(err, context.Canceled) {
				return nil
			}
			if err != nil {
				return err
			}
			cost := resp.PieceCost
			err = c.print(e, cost, func() error {
				_, err := fmt.Fprintf(e.out, "%s  labour %s (%s)  material %s  rework %s  cost %s  profit %s\n", clock(cost.UpdateTime),
					report.Money(cost.Labour), report.Hours(cost.LabourTime), report.Money(cost.Material), report.Money(cost.Rework), report.Money(cost.Cost), report.Money(cost.Profit))
				return err
			})
			if err != nil {
				return err
			}
		}
	})
}

type rateCmd struct {
	output
	RequestID string `help:"Give the same one again to ask again safely." placeholder:"UUID"`
	Who       string `arg:"" help:"Display name."`
	PerHour   string `help:"What an hour costs." required:""`
	From      string `help:"The first day it holds, such as 2026-03-02." required:"" placeholder:"DAY"`
}

func (c *rateCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		till, err := openTill(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &costingv1.SetPayRateRequest{RequestId: command{RequestID: c.RequestID}.request(), Person: who.Name}
		if r.PerHour, err = till.amount(c.PerHour); err != nil {
			return err
		}
		if r.EffectiveDate, err = day(c.From); err != nil {
			return err
		}
		resp, err := shop.Rates.SetPayRate(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "An hour of %s costs %s from %s on.\n", who.DisplayName, report.Money(resp.PayRate.PerHour), c.From)
			return err
		})
	})
}

type ratesCmd struct{ output }

func (c *ratesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		rates, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.PayRate, string, error) {
			r, err := shop.Rates.ListPayRates(ctx, &costingv1.ListPayRatesRequest{PageSize: 1000, PageToken: token})
			return r.GetPayRates(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		people, err := shop.AllPeople(e.ctx)
		if err != nil {
			return err
		}
		names := map[string]string{}
		for _, p := range people {
			names[p.Name] = p.DisplayName
		}
		return c.print(e, &costingv1.ListPayRatesResponse{PayRates: rates}, func() error {
			t := &report.Table{Headings: []string{"who", "from", " per hour", "set by"}}
			for _, r := range rates {
				d := r.EffectiveDate
				t.Add(names[r.Person], fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day), report.Money(r.PerHour), r.Actor)
			}
			return t.Print(e.out)
		})
	})
}
