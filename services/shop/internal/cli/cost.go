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
	Shop     shopCostCmd  `cmd:"" help:"Show the sums over all pieces and the accounts of the books."`
	Watch    watchCostCmd `cmd:"" help:"Show a piece's cost now and at each change, until Ctrl-C."`
	Rate     rateCmd      `cmd:"" help:"Say what an hour of somebody costs from a day on."`
	Rates    ratesCmd     `cmd:"" help:"List the pay rates."`
	Payroll  payrollCmd   `cmd:"" help:"What everybody worked in a week."`
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
		return c.print(e, resp.PieceCost, func() error { return report.Piece(e.out, resp.PieceCost) })
	})
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
		terms, err := shop.Terms(e.ctx)
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
			err = c.print(e, resp.PieceCost, func() error { return printState(e, terms, resp.PieceCost) })
			if err != nil {
				return err
			}
		}
	})
}

// printState prints a piece's costs on one line.
func printState(e *env, terms client.Terms, p *costingv1.PieceCost) error {
	s := p.GetSums()
	profit, _ := report.ProfitOf(p)
	_, err := fmt.Fprintf(e.out, "%s  labour %s (%s)  material %s  rework %s  cost %s  profit %s\n", terms.Clock(p.UpdateTime), report.Money(s.GetLabour()),
		report.Hours(s.GetLabourTime()), report.Money(s.GetMaterial()), report.Money(s.GetRework()), report.Money(s.GetCost()), profit)
	return err
}

type shopCostCmd struct{ output }

func (c *shopCostCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Costing.GetShopCost(e.ctx, &costingv1.GetShopCostRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			terms, err := shop.Terms(e.ctx)
			if err != nil {
				return err
			}
			if err := report.Total(e.out, resp, terms.Currency); err != nil {
				return err
			}
			fmt.Fprintln(e.out)
			return report.Accounts(e.out, resp.Accounts, terms.Currency)
		})
	})
}
