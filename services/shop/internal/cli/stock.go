package cli

import (
	"context"
	"fmt"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type stockCmd struct {
	Add       addProductCmd   `cmd:"" help:"Give a product a place on the shelf."`
	List      listProductsCmd `cmd:"" help:"List what is on hand and what is low."`
	Lots      lotsCmd         `cmd:"" help:"List the lots of a product, oldest first."`
	Receive   receiveCmd      `cmd:"" help:"Receive a lot, by --package and --count or by --quantity."`
	Issue     issueCmd        `cmd:"" help:"Issue material to a piece and stage; oldest lots go first."`
	Threshold thresholdCmd    `cmd:"" help:"Set below which amount a product is low."`
}

func amountOf(q *typev1.Quantity) string {
	if q == nil {
		return "–"
	}
	return q.Value + " " + q.Unit
}

type addProductCmd struct {
	command
	Name         string   `arg:"" help:"Display name."`
	Unit         string   `help:"A unit of what it is measured in: L, gal, g, lb, m, each …" required:""`
	Package      []string `help:"A size it is sold in, such as 'quart can=1qt'; repeat for each." placeholder:"LABEL=CONTENT"`
	RestockBelow string   `help:"Below this, it is low." placeholder:"QUANTITY"`
}

func (c *addProductCmd) Run(e *env) error {
	r := &materialsv1.AddProductRequest{RequestId: c.request(), DisplayName: c.Name, Unit: c.Unit}
	for _, text := range c.Package {
		label, content, ok := strings.Cut(text, "=")
		if !ok {
			return fmt.Errorf("package %q is not of the form 'quart can=1qt'", text)
		}
		q, err := quantity(content)
		if err != nil {
			return err
		}
		r.Packages = append(r.Packages, &materialsv1.Package{Label: label, Content: q})
	}
	var err error
	if r.RestockThreshold, err = optionalQuantity(c.RestockBelow); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Materials.AddProduct(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printProducts(e, []*materialsv1.Product{resp.Product}) })
	})
}

func optionalQuantity(text string) (*typev1.Quantity, error) {
	if text == "" {
		return nil, nil
	}
	return quantity(text)
}

type listProductsCmd struct{ output }

func (c *listProductsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		products, err := shop.AllProducts(e.ctx)
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListProductsResponse{Products: products}, func() error { return printProducts(e, products) })
	})
}

func printProducts(e *env, products []*materialsv1.Product) error {
	t := &report.Table{Headings: []string{"product", " on hand", " value", " low below", ""}}
	for _, p := range products {
		low := ""
		if p.Low {
			low = "low"
		}
		t.Add(p.DisplayName, amountOf(p.OnHand), report.Money(p.Value), amountOf(p.RestockThreshold), low)
	}
	return t.Print(e.out)
}

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
		return c.print(e, &materialsv1.ListLotsResponse{Lots: lots}, func() error {
			t := &report.Table{Headings: []string{"received", "supplier", " amount", " left", " cost", " cost left"}}
			for _, l := range lots {
				t.Add(clock(l.ReceiveTime), l.Supplier, amountOf(l.Received), amountOf(l.Left), report.Money(l.Cost), report.Money(l.CostLeft))
			}
			return t.Print(e.out)
		})
	})
}

type receiveCmd struct {
	command
	Product  string `arg:"" help:"Display name."`
	Package  string `help:"Which of its packages." placeholder:"LABEL"`
	Count    int32  `help:"How many packages." default:"1"`
	Quantity string `help:"How much, if not by package." placeholder:"QUANTITY"`
	Cost     string `help:"What the lot cost in all." required:""`
	Supplier string `help:"Whose."`
}

func (c *receiveCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		r := &materialsv1.ReceiveStockRequest{RequestId: c.request(), Product: p.Name, Supplier: c.Supplier}
		if r.ReceiveTime, err = c.at(); err != nil {
			return err
		}
		if err := c.amount(r); err != nil {
			return err
		}
		till, err := openTill(e.ctx, shop)
		if err != nil {
			return err
		}
		if r.Cost, err = till.amount(c.Cost); err != nil {
			return err
		}
		resp, err := shop.Materials.ReceiveStock(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printProducts(e, []*materialsv1.Product{resp.Product}) })
	})
}

func (c *receiveCmd) amount(r *materialsv1.ReceiveStockRequest) error {
	if c.Quantity == "" {
		r.Amount = &materialsv1.ReceiveStockRequest_Packages_{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: c.Package, Count: c.Count}}
		return nil
	}
	q, err := quantity(c.Quantity)
	r.Amount = &materialsv1.ReceiveStockRequest_Quantity{Quantity: q}
	return err
}

type issueCmd struct {
	command
	Product  string `arg:"" help:"Display name."`
	Quantity string `arg:"" help:"How much, such as 120mL."`
	stageArgs
}

func (c *issueCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		q, err := quantity(c.Quantity)
		if err != nil {
			return err
		}
		at, err := c.at()
		if err != nil {
			return err
		}
		resp, err := shop.Materials.IssueMaterial(e.ctx, &materialsv1.IssueMaterialRequest{
			RequestId: c.request(), Product: p.Name, Quantity: q, Stage: stage.Name, IssueTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "%s of %s went to %s for %s; %s left.\n",
				amountOf(resp.Quantity), p.DisplayName, client.Title(stage), report.Money(resp.Cost), amountOf(resp.Product.OnHand))
			return err
		})
	})
}

type thresholdCmd struct {
	command
	Product string `arg:"" help:"Display name."`
	Below   string `arg:"" optional:"" help:"An amount, such as 0.5L; without it the product is never low."`
}

func (c *thresholdCmd) Run(e *env) error {
	q, err := optionalQuantity(c.Below)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		resp, err := shop.Materials.SetRestockThreshold(e.ctx, &materialsv1.SetRestockThresholdRequest{RequestId: c.request(), Product: p.Name, RestockThreshold: q})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printProducts(e, []*materialsv1.Product{resp.Product}) })
	})
}
