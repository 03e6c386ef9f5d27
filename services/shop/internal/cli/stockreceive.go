package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"github.com/shopspring/decimal"

	"tackfree/pkg/money"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
)

type receiveCmd struct {
	timed
	Product  string `arg:"" optional:"" help:"Display name."`
	Package  string `help:"Which of its packages." placeholder:"LABEL" xor:"package"`
	Count    *int32 `help:"How many packages; without it, one." placeholder:"NUMBER" xor:"count"`
	Quantity string `help:"How much, if not by package." placeholder:"QUANTITY" xor:"package,count"`
	Cost     string `help:"What the lot cost in all." placeholder:"AMOUNT"`
	Supplier string `help:"Whose."`
	bill
}

// Help implements kong.HelpProvider.
func (receiveCmd) Help() string {
	return "One product, by --package and --count or by --quantity, and its --cost; or a bill, with a --line for each product; or what an --order still lacks. " + undoHelp
}

func (c *receiveCmd) Run(e *env) error {
	plain := &materialsv1.ReceiveStockRequest{RequestId: c.request(), Supplier: c.Supplier}
	switch single := c.Package + c.Quantity + c.Cost; {
	case c.Product == "" && (single != "" || c.Count != nil):
		return errors.New("say of which product that is; a bill has it in each --line")
	case c.Product == "" && c.Line == nil && c.Order == "":
		return errors.New("say what came: a product with --cost and how much, a --line for each product of a bill, or the --order that it fulfils")
	case c.Product != "" && c.Line != nil:
		return errors.New("say one product, or each of several as a --line, not both")
	case c.Product == "":
		return c.receiveBill(e)
	}
	if err := c.amount(plain); err != nil {
		return err
	}
	if c.Cost == "" {
		return errors.New("say what the lot cost in all: --cost")
	}
	if c.said() {
		return c.receiveBill(e)
	}
	return e.with(func(shop *client.Shop) error { return c.receiveOne(e, shop, plain) })
}

// receiveOne receives one product that nothing more is said of.
func (c *receiveCmd) receiveOne(e *env, shop *client.Shop, r *materialsv1.ReceiveStockRequest) error {
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
	defer noteClosed(e, shop, r.ReceiveTime)
	return c.print(e, resp, func() error {
		if err := printProducts(e, []*materialsv1.Product{resp.Product}); err != nil {
			return err
		}
		return sayRecostedBelow(e, shop, resp.Recostings)
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

// receiveBill receives one product or several with all that a bill says.
func (c *receiveCmd) receiveBill(e *env) error {
	lines, err := c.lines()
	if err != nil {
		return err
	}
	if c.Product != "" {
		lines = []bought{c.single()}
	}
	return e.with(func(shop *client.Shop) error {
		r, err := c.delivery(e, shop, lines)
		if err != nil {
			return err
		}
		resp, err := shop.Stock.ReceiveDelivery(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.ReceiveTime)
		return c.print(e, resp, func() error {
			if err := printProducts(e, resp.Products); err != nil {
				return err
			}
			fmt.Fprintln(e.out)
			return sayLots(e, shop, resp.Recostings, resp.Lots...)
		})
	})
}

// single is the one product that was typed, as a line of a bill.
func (c *receiveCmd) single() bought {
	b := bought{product: c.Product, label: c.Package, amount: c.Quantity, cost: c.Cost}
	if c.Quantity == "" {
		b.packages = 1
	}
	if c.Count != nil {
		b.packages = *c.Count
	}
	return b
}

// delivery is what was typed, as the shop takes it.
func (c *receiveCmd) delivery(e *env, shop *client.Shop, lines []bought) (*materialsv1.ReceiveDeliveryRequest, error) {
	r := &materialsv1.ReceiveDeliveryRequest{RequestId: c.request(), Supplier: c.Supplier}
	var order *materialsv1.Order
	var err error
	if c.Order != "" {
		if order, err = shop.Order(e.ctx, c.Order); err != nil {
			return nil, err
		}
		if lines, err = c.ofOrder(e.ctx, shop, order, lines); err != nil {
			return nil, err
		}
		r.Supplier = cmp.Or(r.Supplier, order.SupplierName)
	}
	products, err := shop.AllProducts(e.ctx)
	if err != nil {
		return nil, err
	}
	for _, b := range lines {
		l, err := c.fill(b).delivered(e.ctx, shop, products)
		if err != nil {
			return nil, err
		}
		l.OrderLine = orderLine(order, l)
		r.Lines = append(r.Lines, l)
	}
	return r, c.sums(e.ctx, shop, r)
}

// sums reads what is said of the whole bill.
func (c *receiveCmd) sums(ctx context.Context, shop *client.Shop, r *materialsv1.ReceiveDeliveryRequest) error {
	terms, err := shop.Terms(ctx)
	if err != nil {
		return err
	}
	if r.Freight, err = terms.Amount(c.Freight); err != nil {
		return err
	}
	if r.Discount, err = terms.Amount(c.Discount); err != nil {
		return err
	}
	r.ReceiveTime, err = c.at(ctx, shop)
	return err
}

// ofOrder are the lines that were typed, or all that an order still lacks at its prices. These are
// kept for the line to give again: once they have come, the order lacks them no more.
func (c *receiveCmd) ofOrder(ctx context.Context, shop *client.Shop, o *materialsv1.Order, typed []bought) ([]bought, error) {
	if len(typed) > 0 {
		return typed, nil
	}
	terms, err := shop.Terms(ctx)
	if err != nil {
		return nil, err
	}
	for _, l := range o.Lines {
		text, err := billed(o, l, terms.Currency)
		if err != nil {
			return nil, err
		}
		if text == "" {
			continue
		}
		b, err := readBought(text, billExample)
		if err != nil {
			return nil, err
		}
		typed = append(typed, b)
		c.fixed.flags = append(c.fixed.flags, "--line", text)
	}
	if len(typed) == 0 {
		return nil, fmt.Errorf("all of order %d has come; say what else came with a --line for each", o.Number)
	}
	return typed, nil
}

// billed is a line of a bill for what has not come of a line of an order, at its price; empty: all has.
func billed(o *materialsv1.Order, l *materialsv1.Order_Line, c money.Currency) (string, error) {
	packages, err := lacking(l)
	switch {
	case err != nil || packages == 0:
		return "", err
	case l.Price == nil:
		return "", fmt.Errorf("nobody knows what %s of order %d costs; say it with a --line for each: '%s'", l.ProductName, o.Number, billExample)
	}
	return fmt.Sprintf("%s: %d x %s = %s", l.ProductName, packages, l.PackageLabel, c.Format(amountOf(l.Price, c)*money.Amount(packages))), nil
}

// lacking is how many packages of a line have not come yet; one that was begun is one that came.
func lacking(l *materialsv1.Order_Line) (int32, error) {
	ordered, err := decimal.NewFromString(l.GetOrdered().GetValue())
	if err != nil {
		return 0, err
	}
	received := decimal.Zero
	if l.Received != nil {
		if received, err = decimal.NewFromString(l.Received.Value); err != nil {
			return 0, err
		}
	}
	if l.Packages == 0 || !received.LessThan(ordered) {
		return 0, nil
	}
	return int32(ordered.Sub(received).Mul(decimal.NewFromInt32(l.Packages)).Div(ordered).Floor().IntPart()), nil
}

// orderLine is the line of an order that a line of a bill fulfils: the one of the same product and
// package, else the first of the product; empty: none.
func orderLine(o *materialsv1.Order, l *materialsv1.DeliveryLine) (name string) {
	for _, ordered := range o.GetLines() {
		switch {
		case ordered.Product != l.Product:
		case ordered.PackageLabel == l.GetPackages().GetLabel():
			return ordered.Name
		case name == "":
			name = ordered.Name
		}
	}
	return name
}
