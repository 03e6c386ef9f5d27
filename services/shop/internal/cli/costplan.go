package cli

import (
	"context"
	"fmt"
	"strings"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type actualsCmd struct {
	tabular
	span
	Piece string `arg:"" optional:"" help:"Tag number; without it, all pieces."`
	By    string `help:"By what: stage, stage-kind, piece or month in which stages were finished. Without it: of a piece by stage, of all by kind." placeholder:"WHAT"`
	Kind  string `help:"Only stages of this kind, such as sand." placeholder:"KIND"`
}

func (c *actualsCmd) Run(e *env) error {
	r := &costingv1.ListPlanActualsRequest{By: costingv1.ListPlanActualsRequest_BY_STAGE_KIND, StageKind: c.Kind, PageSize: 1000}
	if c.Piece != "" {
		r.By = costingv1.ListPlanActualsRequest_BY_STAGE
	}
	var err error
	if c.By != "" {
		if r.By, err = readEnum[costingv1.ListPlanActualsRequest_By]("BY_", c.By, costingv1.ListPlanActualsRequest_By_value); err != nil {
			return err
		}
	}
	if r.FromDate, r.ToDate, err = c.days(); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		if c.Piece != "" {
			p, err := shop.Piece(e.ctx, c.Piece)
			if err != nil {
				return err
			}
			r.Piece = p.Name
		}
		all := &costingv1.ListPlanActualsResponse{}
		all.Lines, err = client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.PlanActual, string, error) {
			r.PageToken = token
			resp, err := shop.Answers.ListPlanActuals(ctx, r)
			all.Total, all.AverageRate, all.UnknownStageKind = resp.GetTotal(), resp.GetAverageRate(), resp.GetUnknownStageKind()
			return resp.GetLines(), resp.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		noteUnknown(e, all.UnknownStageKind)
		return c.print(e, all, func() error { return report.PlanActualsCSV(e.out, all.Lines) }, func() error {
			terms, err := shop.Terms(e.ctx)
			if err != nil {
				return err
			}
			return report.PlanActuals(e.out, byWord(r.By), all, terms.Currency)
		})
	})
}

// byWord is what a list is by, for a heading.
func byWord(by fmt.Stringer) string {
	return strings.ReplaceAll(enumWord("BY_", by.String()), "-", " ")
}

type standardCmd struct {
	Set  setStandardCmd   `cmd:"" help:"Say what an hour should cost from a day on; it changes no cost."`
	List listStandardsCmd `cmd:"" help:"List what it should cost since when."`
}

type setStandardCmd struct {
	command
	PerHour string `arg:"" help:"What an hour should cost."`
	From    string `help:"The first day it holds, such as 2026-03-02." required:"" placeholder:"DAY"`
	Replace bool   `help:"It takes the place of the rate from the same day." aliases:"replaces"`
}

func (c *setStandardCmd) Run(e *env) error {
	from, err := client.Day(c.From)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &costingv1.SetStandardRateRequest{RequestId: c.request(), EffectiveDate: from, Replaces: c.Replace}
		if r.PerHour, err = terms.Amount(c.PerHour); err != nil {
			return err
		}
		resp, err := shop.Answers.SetStandardRate(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "An hour should cost %s from %s on.\n", report.Money(resp.StandardRate.PerHour), c.From)
			return err
		})
	})
}

type listStandardsCmd struct{ listOutput }

func (c *listStandardsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		rates, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.StandardRate, string, error) {
			r, err := shop.Answers.ListStandardRates(ctx, &costingv1.ListStandardRatesRequest{PageSize: 1000, PageToken: token})
			return r.GetStandardRates(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &costingv1.ListStandardRatesResponse{StandardRates: rates}, func() error {
			t := &report.Table{Headings: []string{"from", " per hour", "set by", ""}}
			for _, r := range byDay(rates, nobodys) {
				t.Add(client.WriteDay(r.term.EffectiveDate), report.Money(r.term.PerHour), r.term.Actor, r.remark())
			}
			return t.Print(e.out)
		})
	})
}
