package cli

import (
	"context"
	"fmt"
	"strings"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type sellSetCmd struct {
	timed
	moneyFlags
	Pieces string `arg:"" help:"Tag numbers, such as 12,13,14. The price is split by what is asked for each; of one that is not listed say what it counts for: 12,13=90,14."`
	Price  string `arg:"" help:"Price of all together, without tax."`
	sellFlags
	Channel string `help:"Where they were sold, if not where they are listed."`
	Buyer   string `help:"Who bought them."`
	Held    bool   `help:"Those that are held are sold to whom they are held for; their deposits go into the sale."`
}

func (c *sellSetCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r, err := c.read(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Sets.SellSet(e.ctx, r)
		if err != nil {
			return err
		}
		err = c.print(e, resp, func() error {
			noteFee(e, resp.GetSet().GetFeeFromChannel(), resp.GetSet().GetChannel(), resp.GetSet().GetFee())
			return printSet(e, shop, resp.Set)
		})
		noteClosed(e, shop, r.SaleTime)
		return err
	})
}

func (c *sellSetCmd) read(ctx context.Context, shop *client.Shop) (*salesv1.SellSetRequest, error) {
	r := &salesv1.SellSetRequest{RequestId: c.request(), Channel: c.Channel, Buyer: c.Buyer, TaxPlace: c.Place, Exempt: c.Exempt != "", ExemptReason: c.Exempt, OnAccount: c.OnAccount}
	terms, err := shop.Terms(ctx)
	if err != nil {
		return nil, err
	}
	if r.Method, err = readMethod(c.Method); err != nil {
		return nil, err
	}
	items := strings.Split(c.Pieces, ",")
	if len(items) < 2 {
		tag, _, _ := strings.Cut(c.Pieces, "=")
		return nil, fmt.Errorf("a set is of two pieces or more; sell a single one with `shop sale sell %s %s`", strings.TrimSpace(tag), c.Price)
	}
	for _, text := range items {
		tag, weight, _ := strings.Cut(text, "=")
		p, err := shop.Piece(ctx, strings.TrimSpace(tag))
		if err != nil {
			return nil, err
		}
		item := &salesv1.SellSetRequest_Item{Piece: p.Name}
		if item.Hold, err = c.hold(ctx, shop, p.Name); err != nil {
			return nil, err
		}
		if item.Weight, err = terms.Amount(strings.TrimSpace(weight)); err != nil {
			return nil, err
		}
		r.Items = append(r.Items, item)
	}
	if r.Price, err = terms.Amount(c.Price); err != nil {
		return nil, err
	}
	if r.Tax, r.Fee, err = c.moneyFlags.read(ctx, shop); err != nil {
		return nil, err
	}
	r.SaleTime, err = c.at(ctx, shop)
	return r, err
}

type showSetCmd struct {
	listOutput
	Set string `arg:"" help:"The tag number of one of its pieces, or its name as sale show --json has it."`
}

func (c *showSetCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		s, err := shop.Set(e.ctx, c.Set)
		if err != nil {
			return err
		}
		return c.print(e, s, func() error { return printSet(e, shop, s) })
	})
}

func printSet(e *env, shop *client.Shop, s *salesv1.Set) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	to := ""
	if s.Buyer != "" {
		to = " to " + s.Buyer
	}
	fmt.Fprintf(e.out, "%d pieces sold together for %s%s on %s, %s\n\n", len(s.Parts), report.Money(s.Price), to, s.Channel, terms.Clock(s.SaleTime))
	t := &report.Table{Headings: []string{" tag", " counts for", " price", " tax", " fee", " price back"}}
	for _, p := range s.Parts {
		t.Add(fmt.Sprint(p.Tag), report.Money(p.Weight), report.Money(p.Sale.GetPrice()), report.Money(p.Sale.GetTax()), report.Money(p.Sale.GetFee()), report.Money(p.Sale.GetPriceRefunded()))
	}
	return t.Print(e.out)
}
