package cli

import (
	"fmt"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type buyingTermsCmd struct {
	command
	Target   string   `help:"What each hour of labour is to leave when all is paid, labour too." placeholder:"AMOUNT"`
	Chance   string   `help:"How surely, in percent, such as 80." placeholder:"PERCENT"`
	Labour   string   `help:"What an hour of labour costs, with burden and overhead." placeholder:"AMOUNT"`
	Travel   string   `help:"What a kilometre costs." placeholder:"AMOUNT"`
	Speed    *float64 `help:"How many kilometres are driven in an hour." placeholder:"KM"`
	Handling *int32   `help:"How many minutes it takes to look, load and unload." placeholder:"MINUTES"`
}

// Help implements kong.HelpProvider.
func (buyingTermsCmd) Help() string {
	return "What no flag names stays as it is.\n\nFor example: shop prospect terms --target 25 --chance 80 --labour 22.50"
}

// changes reports whether anything is to be changed.
func (c *buyingTermsCmd) changes() bool {
	return c.Target != "" || c.Chance != "" || c.Labour != "" || c.Travel != "" || c.Speed != nil || c.Handling != nil
}

func (c *buyingTermsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Prospects.GetBuyingTerms(e.ctx, &intakev1.GetBuyingTermsRequest{})
		if err != nil {
			return err
		}
		if !c.changes() {
			return c.output.print(e, is, func() error { return printBuyingTerms(e, is.Terms) })
		}
		r := &intakev1.SetBuyingTermsRequest{RequestId: c.request(), Terms: is.Terms, Etag: is.Terms.GetEtag()}
		if err := c.change(e, shop, r.Terms); err != nil {
			return err
		}
		resp, err := shop.Prospects.SetBuyingTerms(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printBuyingTerms(e, resp.Terms) })
	})
}

// change writes what was typed into the terms.
func (c *buyingTermsCmd) change(e *env, shop *client.Shop, to *intakev1.BuyingTerms) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	percent, err := readPercent("--chance", c.Chance)
	if err != nil {
		return err
	}
	if percent > 0 {
		to.Chance = percent / 100
	}
	put(&to.KmPerHour, c.Speed, same)
	if c.Handling != nil {
		to.HandlingMinutes = c.Handling
	}
	return amounts(terms, typedAmount{c.Target, &to.TargetPerHour}, typedAmount{c.Labour, &to.LabourPerHour}, typedAmount{c.Travel, &to.TravelPerKm})
}

func printBuyingTerms(e *env, t *intakev1.BuyingTerms) error {
	if m := t.GetTargetPerHour(); m.GetUnits() == 0 && m.GetNanos() == 0 {
		fmt.Fprintln(e.out, "Nobody has said what an hour is to earn; say it with --target.")
	} else {
		fmt.Fprintf(e.out, "Each hour is to leave %s when all is paid, with a chance of %s.\n", report.Money(t.TargetPerHour), inPercent(t.Chance))
	}
	_, err := fmt.Fprintf(e.out, "An hour of labour costs %s. The way costs %s a kilometre at %s km an hour; to look, load and unload takes %d minutes.\n",
		report.Money(t.GetLabourPerHour()), report.Money(t.GetTravelPerKm()), decimals(t.GetKmPerHour()), t.GetHandlingMinutes())
	return err
}
