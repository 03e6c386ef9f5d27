package cli

import (
	"context"
	"fmt"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type eventCmd struct {
	tabular
	Event string `arg:"" help:"The event's id, as the lines of a piece show it."`
}

func (c *eventCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		lines, err := costLines(e, shop, &costingv1.ListCostLinesRequest{EventId: c.Event})
		if err != nil {
			return err
		}
		if len(lines) == 0 && !c.JSON && !c.CSV {
			_, err := fmt.Fprintln(e.out, "It put nothing into the books, or they do not know it (yet).")
			return err
		}
		return c.printLines(e, shop, lines, func() error { return nil })
	})
}

// costLines reads all pages of ledger lines.
func costLines(e *env, shop *client.Shop, r *costingv1.ListCostLinesRequest) ([]*costingv1.CostLine, error) {
	r.PageSize = 1000
	return client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.CostLine, string, error) {
		r.PageToken = token
		resp, err := shop.Answers.ListCostLines(ctx, r)
		return resp.GetLines(), resp.GetNextPageToken(), err
	})
}

// printLines prints ledger lines after what stands before them for people.
func (t tabular) printLines(e *env, shop *client.Shop, lines []*costingv1.CostLine, before func() error) error {
	rows := func() error { return report.LinesCSV(e.out, lines, client.WriteDay) }
	return t.print(e, &costingv1.ListCostLinesResponse{Lines: lines}, rows, func() error {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		if err := before(); err != nil {
			return err
		}
		fmt.Fprintln(e.out)
		return report.Lines(e.out, lines, func(l *costingv1.CostLine) string { return terms.Clock(l.OccurTime) }, client.WriteDay)
	})
}
