package cli

import (
	"cmp"
	"context"
	"fmt"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type burdenCmd struct {
	Set  setBurdenCmd   `cmd:"" help:"Say what the employer pays on top of wages from a day on."`
	List listBurdensCmd `cmd:"" help:"List what the employer pays on top of wages."`
}

type setBurdenCmd struct {
	command
	Percent    string `arg:"" optional:"" help:"Of the pay, such as 7.65; 0: nothing from then on."`
	From       string `help:"The first day it holds, such as 2026-03-02." required:"" placeholder:"DAY"`
	Who        string `help:"Whose; without it: of everybody who has none of their own." placeholder:"NAME"`
	Replace    bool   `help:"It takes the place of the burden from the same day."`
	ShopsAgain bool   `help:"Instead of a percentage: of WHO that of everybody counts again from then on."`
	PayLate    bool   `help:"It may change locked weeks and closed months: they stay, and the difference is paid and booked in the first that are open."`
}

func (c *setBurdenCmd) Run(e *env) error {
	from, err := client.Day(c.From)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		r := &costingv1.SetBurdenRequest{RequestId: c.request(), Percent: c.Percent, EffectiveDate: from, Replaces: c.Replace, Ends: c.ShopsAgain, PayLate: c.PayLate}
		who := "everybody who has none of their own"
		if c.Who != "" {
			person, err := shop.Person(e.ctx, c.Who)
			if err != nil {
				return err
			}
			r.Person, who = person.Name, person.DisplayName
		}
		resp, err := shop.PayRules.SetBurden(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			costs := resp.Burden.GetPercent() + " percent more"
			if resp.Burden.GetEnds() {
				costs = "as much more as that of everybody"
			}
			_, err := fmt.Fprintf(e.out, "From %s on the pay of %s costs %s.\n", c.From, who, costs)
			return err
		})
	})
}

type listBurdensCmd struct{ listOutput }

func (c *listBurdensCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		burdens, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.Burden, string, error) {
			r, err := shop.PayRules.ListBurdens(ctx, &costingv1.ListBurdensRequest{PageSize: 1000, PageToken: token})
			return r.GetBurdens(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &costingv1.ListBurdensResponse{Burdens: burdens}, func() error { return printBurdens(e, shop, burdens) })
	})
}

func printBurdens(e *env, shop *client.Shop, burdens []*costingv1.Burden) error {
	names, err := displayNames(e, shop)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"who", "from", " percent", "set by", ""}}
	for _, b := range byDay(burdens, func(b *costingv1.Burden) string { return names[b.Person] + b.Person }) {
		percent := b.term.Percent
		if b.term.Ends {
			percent = "the shop's again"
		}
		t.Add(cmp.Or(names[b.term.Person], "everybody else"), client.WriteDay(b.term.EffectiveDate), percent, b.term.Actor, b.remark())
	}
	return t.Print(e.out)
}
