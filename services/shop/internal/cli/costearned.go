package cli

import (
	"context"
	"fmt"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type earningsCmd struct {
	tabular
	span
	By string `help:"By what: piece, kind, source, finish, channel, workers (who have at least a tenth of a piece's hours) or month of the sale. Without it: by kind." default:"kind" placeholder:"WHAT"`
}

func (c *earningsCmd) Run(e *env) error {
	r := &costingv1.ListEarningsRequest{PageSize: 1000}
	var err error
	if r.By, err = readEnum[costingv1.ListEarningsRequest_By]("BY_", c.By, costingv1.ListEarningsRequest_By_value); err != nil {
		return err
	}
	if r.FromDate, r.ToDate, err = c.days(); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		all := &costingv1.ListEarningsResponse{}
		all.Lines, err = client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.Earning, string, error) {
			r.PageToken = token
			resp, err := shop.Answers.ListEarnings(ctx, r)
			all.Total, all.Returned, all.LeftByReturns = resp.GetTotal(), resp.GetReturned(), resp.GetLeftByReturns()
			return resp.GetLines(), resp.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, all, func() error { return report.EarningsCSV(e.out, all.Lines) }, func() error {
			fmt.Fprintf(e.out, "What sold pieces earned, by %s.\n\n", byWord(r.By))
			return report.Earnings(e.out, byWord(r.By), all)
		})
	})
}

type reworkCmd struct {
	tabular
	span
	By string `help:"By what: stage-kind, defect (that the inspection found which sent the work back), first-worker (who did it the first time), piece, month, source (where the fault of what came back is from) or comeback. Without it: by the kind of stage." default:"stage-kind" placeholder:"WHAT"`
	Of string `help:"Of which: shop (of pieces that had not come back), comebacks (of what came back after it was sold) or warranty (of that, what the shop bears). Without it: of all." placeholder:"WHICH"`
}

func (c *reworkCmd) Run(e *env) error {
	r := &costingv1.ListReworkRequest{PageSize: 1000}
	var err error
	if r.By, err = readEnum[costingv1.ListReworkRequest_By]("BY_", c.By, costingv1.ListReworkRequest_By_value); err != nil {
		return err
	}
	if c.Of != "" {
		if r.Of, err = readEnum[costingv1.ListReworkRequest_Of]("OF_", c.Of, costingv1.ListReworkRequest_Of_value); err != nil {
			return err
		}
	}
	if r.FromDate, r.ToDate, err = c.days(); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		all := &costingv1.ListReworkResponse{}
		all.Lines, err = client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.Rework, string, error) {
			r.PageToken = token
			resp, err := shop.Answers.ListRework(ctx, r)
			all.Total = resp.GetTotal()
			return resp.GetLines(), resp.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, all, func() error { return report.ReworkCSV(e.out, all.Lines) }, func() error {
			fmt.Fprintf(e.out, "What doing things again cost, by %s.\n\n", byWord(r.By))
			return report.Rework(e.out, byWord(r.By), all)
		})
	})
}
