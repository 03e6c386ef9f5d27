package cli

import (
	"context"
	"errors"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type lotsCmd struct {
	output
	Product string `arg:"" help:"Display name."`
	All     bool   `help:"Show used-up lots too."`
}

func (c *lotsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		lots, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Lot, string, error) {
			r, err := shop.Materials.ListLots(ctx, &materialsv1.ListLotsRequest{Product: p.Name, ShowUsedUp: c.All, PageSize: 1000, PageToken: token})
			return r.GetLots(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListLotsResponse{Lots: lots}, func() error { return printLots(e, shop, lots) })
	})
}

func printLots(e *env, shop *client.Shop, lots []*materialsv1.Lot) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"received", "supplier", " amount", " left", " cost", " cost left"}}
	for _, l := range lots {
		t.Add(terms.Clock(l.ReceiveTime), l.Supplier, report.Quantity(l.Received), report.Quantity(l.Left), report.Money(l.Cost), report.Money(l.CostLeft))
	}
	return t.Print(e.out)
}

type receiveCmd struct {
	timed
	Product  string `arg:"" help:"Display name."`
	Package  string `help:"Which of its packages." placeholder:"LABEL" xor:"package"`
	Count    *int32 `help:"How many packages; without it, one." placeholder:"NUMBER" xor:"count"`
	Quantity string `help:"How much, if not by package." placeholder:"QUANTITY" xor:"package,count"`
	Cost     string `help:"What the lot cost in all." required:"" placeholder:"AMOUNT"`
	Supplier string `help:"Whose."`
}

func (c *receiveCmd) Run(e *env) error {
	r := &materialsv1.ReceiveStockRequest{RequestId: c.request(), Supplier: c.Supplier}
	if err := c.amount(r); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		r.Product = p.Name
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		if r.Cost, err = terms.Amount(c.Cost); err != nil {
			return err
		}
		if r.ReceiveTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Materials.ReceiveStock(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printProducts(e, []*materialsv1.Product{resp.Product}) })
	})
}

// amount reads how much came: packages, one if their number is not said, or a quantity.
func (c *receiveCmd) amount(r *materialsv1.ReceiveStockRequest) error {
	switch {
	case c.Quantity != "":
		q, err := quantity(c.Quantity)
		r.Amount = &materialsv1.ReceiveStockRequest_Quantity{Quantity: q}
		return err
	case c.Package == "":
		return errors.New("say how much came: --package, with --count if there are several, or --quantity")
	}
	packages := &materialsv1.ReceiveStockRequest_Packages{Label: c.Package, Count: 1}
	if c.Count != nil {
		packages.Count = *c.Count
	}
	r.Amount = &materialsv1.ReceiveStockRequest_Packages_{Packages: packages}
	return nil
}
