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

type watchCostCmd struct {
	output
	Piece string `arg:"" optional:"" help:"Tag number; without it, the whole shop."`
}

func (c *watchCostCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		if c.Piece == "" {
			return c.shop(e, shop, terms)
		}
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		stream, err := shop.Costing.WatchPieceCost(e.ctx, &costingv1.WatchPieceCostRequest{Piece: p.Name})
		if err != nil {
			return err
		}
		return follow(stream, func(resp *costingv1.WatchPieceCostResponse) error {
			return c.print(e, resp.PieceCost, func() error { return printState(e, terms, resp.PieceCost) })
		})
	})
}

func (c *watchCostCmd) shop(e *env, shop *client.Shop, terms client.Terms) error {
	stream, err := shop.Answers.WatchShop(e.ctx, &costingv1.WatchShopRequest{})
	if err != nil {
		return err
	}
	return follow(stream, func(resp *costingv1.WatchShopResponse) error {
		return c.print(e, resp, func() error { return report.Standing(e.out, resp, terms.Currency) })
	})
}

// follow hands on what a stream tells, until it ends or is left.
func follow[M any](stream interface{ Recv() (*M, error) }, fn func(*M) error) error {
	for {
		resp, err := stream.Recv()
		if errors.Is(err, io.EOF) || errors.Is(err, context.Canceled) {
			return nil
		}
		if err != nil {
			return err
		}
		if err := fn(resp); err != nil {
			return err
		}
	}
}

// printState prints a piece's costs on one line.
func printState(e *env, terms client.Terms, p *costingv1.PieceCost) error {
	s := p.GetSums()
	profit, _ := report.ProfitOf(p)
	_, err := fmt.Fprintf(e.out, "%s  labour %s (%s)  material %s  rework %s  cost %s  profit %s\n", terms.Clock(p.UpdateTime), report.Money(s.GetLabour()),
		report.Hours(s.GetLabourTime()), report.Money(s.GetMaterial()), report.Money(s.GetRework()), report.Money(s.GetCost()), profit)
	return err
}
