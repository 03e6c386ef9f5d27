package cli

import (
	"context"
	"fmt"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type rateCmd struct {
	command
	Who     string `arg:"" help:"Display name."`
	PerHour string `help:"What an hour costs." required:"" placeholder:"AMOUNT"`
	From    string `help:"The first day it holds, such as 2026-03-02." required:"" placeholder:"DAY"`
	Replace bool   `help:"It takes the place of the rate from the same day."`
	PayLate bool   `help:"It may change locked weeks and closed months: they stay, and the difference is paid and booked in the first that are open."`
}

func (c *rateCmd) Run(e *env) error {
	from, err := client.Day(c.From)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &costingv1.SetPayRateRequest{RequestId: c.request(), Person: who.Name, EffectiveDate: from, Replaces: c.Replace, PayLate: c.PayLate}
		if r.PerHour, err = terms.Amount(c.PerHour); err != nil {
			return err
		}
		resp, err := shop.Rates.SetPayRate(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "An hour of %s costs %s from %s on.%s\n", who.DisplayName, report.Money(resp.PayRate.PerHour), c.From, unpaid(resp.PayRate))
			return err
		})
	})
}

// unpaid says what a rate of nothing means: it is right for an owner who takes no wage, and seldom else.
func unpaid(r *costingv1.PayRate) string {
	if pay := r.GetPerHour(); pay.GetUnits() != 0 || pay.GetNanos() != 0 {
		return ""
	}
	return " That is an hour without pay, as of an owner who takes no wage: no piece costs more by it, and its profit is the higher."
}

type ratesCmd struct{ listOutput }

func (c *ratesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		rates, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.PayRate, string, error) {
			r, err := shop.Rates.ListPayRates(ctx, &costingv1.ListPayRatesRequest{PageSize: 1000, PageToken: token})
			return r.GetPayRates(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &costingv1.ListPayRatesResponse{PayRates: rates}, func() error { return printRates(e, shop, rates) })
	})
}

func printRates(e *env, shop *client.Shop, rates []*costingv1.PayRate) error {
	names, err := displayNames(e, shop)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"who", "from", " per hour", "set by", ""}}
	for _, r := range byDay(rates, func(r *costingv1.PayRate) string { return names[r.Person] + r.Person }) {
		t.Add(names[r.term.Person], client.WriteDay(r.term.EffectiveDate), report.Money(r.term.PerHour), r.term.Actor, r.remark())
	}
	return t.Print(e.out)
}

// displayNames is what everybody is called, by resource name.
func displayNames(e *env, shop *client.Shop) (map[string]string, error) {
	people, err := shop.AllPeople(e.ctx)
	names := map[string]string{}
	for _, p := range people {
		names[p.Name] = p.DisplayName
	}
	return names, err
}
