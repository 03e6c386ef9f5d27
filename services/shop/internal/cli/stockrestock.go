package cli

import (
	"errors"
	"fmt"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type restockCmd struct {
	Advice adviceCmd        `cmd:"" default:"withargs" help:"What to order by when, what must go out first before the rest."`
	Policy restockPolicyCmd `cmd:"" help:"Show or choose how the shop buys; what is not said stays."`
}

type adviceCmd struct {
	listOutput
	Product  string `arg:"" optional:"" help:"Display name; without it, all products."`
	Pressing bool   `help:"Only what has to be ordered now, or would make a stage stand still."`
	Why      bool   `help:"Say beside each what it follows from."`
}

func (c *adviceCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		product, err := optionalProduct(e, shop, c.Product)
		if err != nil {
			return err
		}
		resp, err := shop.Restock.ListRestockAdvice(e.ctx, &materialsv1.ListRestockAdviceRequest{Product: product, OnlyPressing: c.Pressing})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printAdvice(e, resp.Advice, c.Why || c.Product != "") })
	})
}

func printAdvice(e *env, all []*materialsv1.RestockAdvice, why bool) error {
	t := &report.Table{Headings: []string{"product", " on hand", " reserved", " on order", " lasts", "order by", "order", "from", " cost", "stands still"}}
	for _, a := range all {
		by := orDash(client.WriteDay(a.OrderByDate))
		if a.OrderNow {
			by = "now"
		}
		t.Add(a.ProductName, report.Quantity(a.OnHand), report.Quantity(a.Reserved), report.Quantity(a.OnOrder), cover(a), by,
			toGet(a), a.Purchase.GetSupplierName(), report.Money(a.Purchase.GetCost()), halts(a.Halt))
	}
	if err := t.Print(e.out); err != nil || !why {
		return err
	}
	for _, a := range all {
		sayText(e, a.ProductName, a.Why)
	}
	return nil
}

// toGet writes how many of what to buy, or how much to mix by which recipe.
func toGet(a *materialsv1.RestockAdvice) string {
	switch {
	case a.Purchase != nil:
		return fmt.Sprintf("%d × %s", a.Purchase.Packages, a.Purchase.PackageLabel)
	case a.Mixing != nil:
		return fmt.Sprintf("mix %s by %s", report.Quantity(a.Mixing.Quantity), a.Mixing.RecipeName)
	}
	return "–"
}

// halts says which stage would stand still, from when and for want of how much.
func halts(h *materialsv1.RestockAdvice_Halt) string {
	if h == nil {
		return ""
	}
	return fmt.Sprintf("%s from %s, for want of %s", h.Title, client.WriteDay(h.Date), report.Quantity(h.Lacks))
}

type restockPolicyCmd struct {
	command
	NothingShort *percent `help:"In how many of a hundred deliveries nothing may have run out before it comes: 50 to 99.99; 95 is usual." placeholder:"PERCENT"`
	LookEvery    *hour    `help:"How often somebody looks what to order, such as 1d or 7d." placeholder:"TIME"`
	OrderCost    *string  `help:"What one order costs, mostly somebody's time." placeholder:"AMOUNT"`
	Holding      *percent `help:"What it costs to hold stock for a year, in percent of what it is worth; 25 is usual." placeholder:"PERCENT"`
}

func (c *restockPolicyCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		known, err := shop.Restock.GetRestockPolicy(e.ctx, &materialsv1.GetRestockPolicyRequest{})
		if err != nil {
			return err
		}
		if c.NothingShort == nil && c.LookEvery == nil && c.OrderCost == nil && c.Holding == nil {
			return c.output.print(e, known, func() error { return printRestockPolicy(e, known.Policy) })
		}
		r, err := c.change(e, shop, known.Policy)
		if err != nil {
			return err
		}
		resp, err := shop.Restock.SetRestockPolicy(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printRestockPolicy(e, resp.Policy) })
	})
}

// change puts what was said into the policy.
func (c *restockPolicyCmd) change(e *env, shop *client.Shop, p *materialsv1.RestockPolicy) (*materialsv1.SetRestockPolicyRequest, error) {
	r := &materialsv1.SetRestockPolicyRequest{RequestId: c.request(), ServiceLevel: p.GetServiceLevel(), DaysBetweenLooks: p.GetDaysBetweenLooks(),
		OrderCost: p.GetOrderCost(), HoldingShare: p.GetHoldingShare()}
	if c.NothingShort != nil {
		r.ServiceLevel = float64(*c.NothingShort) / 100
	}
	if c.LookEvery != nil {
		r.DaysBetweenLooks = float64(*c.LookEvery) / 24
	}
	if c.Holding != nil {
		r.HoldingShare = float64(*c.Holding) / 100
	}
	if c.OrderCost == nil {
		return r, nil
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return nil, err
	}
	if r.OrderCost, err = terms.Amount(*c.OrderCost); err == nil && r.OrderCost == nil {
		err = errors.New("say what one order costs: 0 if nothing")
	}
	return r, err
}

func printRestockPolicy(e *env, p *materialsv1.RestockPolicy) error {
	t := &report.Table{Headings: []string{"how the shop buys", " "}}
	t.Add("nothing runs out before a delivery", fmt.Sprintf("%.4g %%", 100*p.GetServiceLevel()))
	t.Add("days between looks at what to order", fmt.Sprintf("%.3g", p.GetDaysBetweenLooks()))
	t.Add("one order costs", report.Money(p.GetOrderCost()))
	t.Add("stock costs a year, of its worth", fmt.Sprintf("%.4g %%", 100*p.GetHoldingShare()))
	return t.Print(e.out)
}
