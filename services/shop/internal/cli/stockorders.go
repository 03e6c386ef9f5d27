package cli

import (
	"cmp"
	"context"
	"fmt"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type ordersCmd struct {
	List    listOrdersCmd  `cmd:"" default:"withargs" help:"List orders, the newest first."`
	Propose proposeCmd     `cmd:"" help:"Say what to order now, by supplier; nothing is changed."`
	Place   placeOrderCmd  `cmd:"" help:"Write down what a supplier is asked for; nothing is sent to them."`
	Show    showOrderCmd   `cmd:"" help:"Show an order and what of it has come."`
	Close   closeOrderCmd  `cmd:"" help:"The rest of it will not come."`
	Cancel  cancelOrderCmd `cmd:"" help:"Nothing of it will come."`
}

type listOrdersCmd struct {
	listOutput
	Open     bool   `help:"Only those of which something is expected."`
	Supplier string `help:"Only of this supplier." placeholder:"NAME"`
	Product  string `help:"Only with this product." placeholder:"NAME"`
}

func (c *listOrdersCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter := &materialsv1.ListOrdersRequest{OnlyOpen: c.Open, PageSize: 1000}
		var err error
		if filter.Supplier, err = optionalSupplier(e, shop, c.Supplier); err != nil {
			return err
		}
		if filter.Product, err = optionalProduct(e, shop, c.Product); err != nil {
			return err
		}
		orders, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Order, string, error) {
			filter.PageToken = token
			r, err := shop.Orders.ListOrders(ctx, filter)
			return r.GetOrders(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListOrdersResponse{Orders: orders}, func() error { return printOrders(e, shop, orders) })
	})
}

// optionalSupplier finds a supplier; none stays absent.
func optionalSupplier(e *env, shop *client.Shop, ref string) (string, error) {
	if ref == "" {
		return "", nil
	}
	s, err := shop.Supplier(e.ctx, ref)
	return s.GetName(), err
}

func printOrders(e *env, shop *client.Shop, orders []*materialsv1.Order) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" order", "supplier", "state", "ordered", "expected", " lines", " total", "who", "remark"}}
	for _, o := range orders {
		t.Add(fmt.Sprint(o.Number), o.SupplierName, report.State(o.State.String()), terms.Clock(o.OrderTime), orDash(client.WriteDay(o.ExpectDate)),
			fmt.Sprint(len(o.Lines)), report.Money(o.Total), o.Actor, cmp.Or(o.Reason, o.Note))
	}
	return t.Print(e.out)
}

// printOrder prints an order with its lines.
func printOrder(e *env, shop *client.Shop, o *materialsv1.Order) error {
	if err := printOrders(e, shop, []*materialsv1.Order{o}); err != nil {
		return err
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	fmt.Fprintln(e.out)
	t := &report.Table{Headings: []string{"product", " packages", "of", " each", " cost", " ordered", " received", "first came"}}
	for _, l := range o.GetLines() {
		t.Add(l.ProductName, fmt.Sprint(l.Packages), l.PackageLabel, report.Money(l.Price), report.Money(l.Cost), report.Quantity(l.Ordered),
			report.Quantity(l.Received), terms.Clock(l.FirstReceiveTime))
	}
	return t.Print(e.out)
}

type showOrderCmd struct {
	listOutput
	Order string `arg:"" help:"Its number."`
}

func (c *showOrderCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		o, err := shop.Order(e.ctx, c.Order)
		if err != nil {
			return err
		}
		resp, err := shop.Orders.GetOrder(e.ctx, &materialsv1.GetOrderRequest{Name: o.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printOrder(e, shop, resp.Order) })
	})
}

// endOrder is a command that ends an order.
type endOrder struct {
	command
	Order  string `arg:"" help:"Its number."`
	Reason string `help:"Why." required:""`
}

type closeOrderCmd struct{ endOrder }

func (c *closeOrderCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		o, err := shop.Order(e.ctx, c.Order)
		if err != nil {
			return err
		}
		resp, err := shop.Orders.CloseOrder(e.ctx, &materialsv1.CloseOrderRequest{RequestId: c.request(), Name: o.Name, Reason: c.Reason})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printOrder(e, shop, resp.Order) })
	})
}

type cancelOrderCmd struct{ endOrder }

func (c *cancelOrderCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		o, err := shop.Order(e.ctx, c.Order)
		if err != nil {
			return err
		}
		resp, err := shop.Orders.CancelOrder(e.ctx, &materialsv1.CancelOrderRequest{RequestId: c.request(), Name: o.Name, Reason: c.Reason})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printOrder(e, shop, resp.Order) })
	})
}
