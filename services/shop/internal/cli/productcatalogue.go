package cli

import (
	"fmt"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type renameCmd struct {
	command
	Product string `arg:"" help:"Display name, as it is now."`
	Name    string `arg:"" help:"What it is called from now on."`
}

func (c *renameCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := c.find(e, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Catalogue.RenameProduct(e.ctx, &materialsv1.RenameProductRequest{RequestId: c.request(), Product: p.Name, DisplayName: c.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printProducts(e, []*materialsv1.Product{resp.Product}) })
	})
}

// find finds the product. A change that is given again may have changed its name.
func (c *renameCmd) find(e *env, shop *client.Shop) (*materialsv1.Product, error) {
	p, err := shop.Product(e.ctx, c.Product)
	if err == nil || c.RequestID == "" {
		return p, err
	}
	if renamed, again := shop.Product(e.ctx, c.Name); again == nil {
		return renamed, nil
	}
	return nil, err
}

type packagesCmd struct {
	command
	Product  string   `arg:"" help:"Display name."`
	Packages []string `arg:"" name:"package" help:"Each size it is sold in, such as 'quart can=1qt'." sep:"none"`
}

func (c *packagesCmd) Run(e *env) error {
	packages, err := readPackages(c.Packages)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		resp, err := shop.Catalogue.SetPackages(e.ctx, &materialsv1.SetPackagesRequest{RequestId: c.request(), Product: p.Name, Packages: packages})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printPackages(e, resp.Product) })
	})
}

// readPackages reads sizes, such as 'quart can=1qt'.
func readPackages(typed []string) (all []*materialsv1.Package, err error) {
	for _, text := range typed {
		label, content, err := pair(text, "quart can=1qt")
		if err != nil {
			return nil, err
		}
		q, err := quantity(content)
		if err != nil {
			return nil, err
		}
		all = append(all, &materialsv1.Package{Label: label, Content: q})
	}
	return all, nil
}

func printPackages(e *env, p *materialsv1.Product) error {
	if len(p.GetPackages()) == 0 {
		_, err := fmt.Fprintf(e.out, "%s is sold in no packages.\n", p.GetDisplayName())
		return err
	}
	t := &report.Table{Headings: []string{"package", " holds"}}
	for _, k := range p.Packages {
		t.Add(k.Label, report.Quantity(k.Content))
	}
	return t.Print(e.out)
}
