package cli

import (
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type addProductCmd struct {
	command
	Name         string   `arg:"" help:"Display name."`
	Unit         string   `help:"A unit of what it is measured in: L, gal, g, lb, m, each …" required:""`
	Package      []string `help:"A size it is sold in, such as 'quart can=1qt'; repeat for each." placeholder:"LABEL=CONTENT" sep:"none"`
	RestockBelow string   `help:"Below this, it is low." placeholder:"QUANTITY"`
}

func (c *addProductCmd) Run(e *env) error {
	r := &materialsv1.AddProductRequest{RequestId: c.request(), DisplayName: c.Name, Unit: c.Unit}
	var err error
	if r.Packages, err = readPackages(c.Package); err != nil {
		return err
	}
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

func printProducts(e *env, products []*materialsv1.Product) error {
	t := &report.Table{Headings: []string{"product", " on hand", " value", " low below", "", "coating"}}
	for _, p := range products {
		t.Add(p.DisplayName, report.Quantity(p.OnHand), report.Money(p.Value), report.Quantity(p.RestockThreshold), lowWord(p), coatingOf(p))
	}
	return t.Print(e.out)
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
