package cli

import (
	"fmt"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type proposeCmd struct {
	listOutput
	Supplier string `arg:"" optional:"" help:"Only of this supplier; without it, of all."`
}

func (c *proposeCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		supplier, err := optionalSupplier(e, shop, c.Supplier)
		if err != nil {
			return err
		}
		resp, err := shop.Orders.ProposeOrders(e.ctx, &materialsv1.ProposeOrdersRequest{Supplier: supplier})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printProposals(e, resp.Proposals) })
	})
}

func printProposals(e *env, all []*materialsv1.OrderProposal) error {
	if len(all) == 0 {
		_, err := fmt.Fprintln(e.out, "Nothing has to be ordered now.")
		return err
	}
	for i, p := range all {
		if i > 0 {
			fmt.Fprintln(e.out)
		}
		fmt.Fprintf(e.out, "%s, by %s, %s in all. Place it with: shop stock orders place %q\n\n", p.SupplierName, orDash(client.WriteDay(p.OrderByDate)), report.Money(p.Total), p.SupplierName)
		t := &report.Table{Headings: []string{"order by", "product", " packages", "of", " each", " cost", "why"}}
		for _, l := range p.Lines {
			t.Add(orDash(client.WriteDay(l.OrderByDate)), l.ProductName, fmt.Sprint(l.Packages), l.PackageLabel, report.Money(l.Price), report.Money(l.Cost), l.Why)
		}
		if err := t.Print(e.out); err != nil {
			return err
		}
	}
	return nil
}

type placeOrderCmd struct {
	timed
	Supplier string   `arg:"" help:"Display name."`
	Lines    []string `arg:"" optional:"" name:"line" help:"A line for each product, such as 'Clear coat: 2 x quart can' or, where a package costs other than the supplier asks, 'Clear coat: 2 x quart can = 19.50'. Without any: what is proposed now." sep:"none"`
	Expected string   `help:"The day on which all of it is expected; without it, as long as the slowest line takes." placeholder:"DAY"`
	Note     string   `help:"What there is to say of it."`
}

func (c *placeOrderCmd) Run(e *env) error {
	expected, err := client.Day(c.Expected)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		supplier, err := shop.Supplier(e.ctx, c.Supplier)
		if err != nil {
			return err
		}
		r := &materialsv1.PlaceOrderRequest{RequestId: c.request(), Supplier: supplier.Name, ExpectDate: expected, Note: c.Note}
		if r.Lines, err = c.lines(e, shop, supplier); err != nil {
			return err
		}
		if r.OrderTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Orders.PlaceOrder(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printOrder(e, shop, resp.Order) })
	})
}

const orderExample = "Clear coat: 2 x quart can = 19.50"

// lines are those that were typed, or what is proposed now. That is kept for the line to give
// again: once it is ordered, it is proposed no more.
func (c *placeOrderCmd) lines(e *env, shop *client.Shop, s *materialsv1.Supplier) (all []*materialsv1.PlaceOrderRequest_Line, err error) {
	typed := c.Lines
	if len(typed) == 0 {
		if typed, err = proposed(e, shop, s); err != nil {
			return nil, err
		}
		c.fixed.words = append(c.fixed.words, typed...)
	}
	products, err := shop.AllProducts(e.ctx)
	if err != nil {
		return nil, err
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return nil, err
	}
	for _, text := range typed {
		l, err := ordered(text, terms, products)
		if err != nil {
			return nil, err
		}
		all = append(all, l)
	}
	return all, nil
}

// ordered reads a line of an order.
func ordered(text string, terms client.Terms, products []*materialsv1.Product) (*materialsv1.PlaceOrderRequest_Line, error) {
	b, err := readBought(text, orderExample)
	if err == nil && (b.label == "" || len(b.more) > 0) {
		err = fmt.Errorf("%q is not of the form '%s': what is ordered comes in packages", text, orderExample)
	}
	if err != nil {
		return nil, err
	}
	p, err := client.ProductOf(products, b.product)
	if err != nil {
		return nil, err
	}
	price, err := terms.Amount(b.cost)
	return &materialsv1.PlaceOrderRequest_Line{Product: p.Name, PackageLabel: b.label, Packages: b.packages, Price: price}, err
}

// proposed is what is proposed of a supplier now, as lines are typed.
func proposed(e *env, shop *client.Shop, s *materialsv1.Supplier) (typed []string, err error) {
	resp, err := shop.Orders.ProposeOrders(e.ctx, &materialsv1.ProposeOrdersRequest{Supplier: s.Name})
	if err != nil {
		return nil, err
	}
	for _, p := range resp.Proposals {
		for _, l := range p.Lines {
			typed = append(typed, fmt.Sprintf("%s: %d x %s = %s", l.ProductName, l.Packages, l.PackageLabel, report.Money(l.Price)))
		}
	}
	if len(typed) == 0 {
		return nil, fmt.Errorf("nothing is proposed of %s now; say what is ordered: '%s'", s.DisplayName, orderExample)
	}
	return typed, nil
}
