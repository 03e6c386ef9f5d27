package cli

import (
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/printed"
	"tackfree/pkg/printed/tagged"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
)

type printBagsCmd struct {
	printing
	Piece string   `help:"Tag number of the piece." placeholder:"TAG" required:""`
	Bags  []string `name:"bag" help:"What is in a bag, such as \"drawers: 8 pulls, 16 screws\"; several: once more for each. Without it there is a bag for each part, with a line to fill in." sep:"none" placeholder:"CONTENTS"`
	Day   string   `help:"When the hardware came off, such as 2026-03-18; without it, today." placeholder:"DAY"`
}

const bagSize = "90x40"

// Help implements kong.HelpProvider.
func (printBagsCmd) Help() string {
	return printHelpText("Each label says which bag of how many it is, so that none is missed when the hardware goes back on.", bagSize)
}

func (c *printBagsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		bags, err := tagged.ReadBags(p.Parts, c.Bags)
		if err != nil {
			return err
		}
		day, err := c.day(e, shop)
		if err != nil {
			return err
		}
		code, err := c.code(fmt.Sprintf("pieces/%d", p.Tag))
		if err != nil {
			return err
		}
		return c.write(e, "bags", bagSize, tagged.Bags(p, bags, day, code, labelWords))
	})
}

// day is the one that is said, or the shop's today.
func (c *printBagsCmd) day(e *env, shop *client.Shop) (string, error) {
	if c.Day != "" {
		_, err := client.Day(c.Day)
		return c.Day, err
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return "", err
	}
	return time.Now().In(terms.Zone).Format(time.DateOnly), nil
}

type printCansCmd struct {
	printing
	Products []string `name:"product" help:"Name of a product; several: once more for each. Without it all of which there is some." sep:"none" placeholder:"NAME"`
}

const canSize = "90x50"

// Help implements kong.HelpProvider.
func (printCansCmd) Help() string {
	return printHelpText("A label has what the product is, its hazards as its maker states them, and lines for when it was opened and by whom.", canSize)
}

func (c *printCansCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		products, err := c.products(e, shop)
		if err != nil {
			return err
		}
		labels := make([]printed.Label, len(products))
		for i, p := range products {
			code, err := c.code("cans/" + bare(p.Name))
			if err != nil {
				return err
			}
			labels[i] = tagged.Can(p, code, labelWords)
		}
		return c.write(e, "cans", canSize, labels)
	})
}

// products are those that are named, or all of which something is on hand.
func (c *printCansCmd) products(e *env, shop *client.Shop) (named []*materialsv1.Product, err error) {
	all, err := shop.AllProducts(e.ctx)
	if err != nil {
		return nil, err
	}
	if len(c.Products) == 0 {
		return slices.DeleteFunc(all, func(p *materialsv1.Product) bool { return !onHand(p) }), nil
	}
	for _, name := range c.Products {
		p, err := client.ProductOf(all, name)
		if err != nil {
			return nil, err
		}
		named = append(named, p)
	}
	return named, nil
}

// onHand reports whether there is some of a product.
func onHand(p *materialsv1.Product) bool {
	left, err := decimal.NewFromString(p.OnHand.GetValue())
	return err == nil && left.IsPositive()
}
