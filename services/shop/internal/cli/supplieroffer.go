package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type supplierOfferCmd struct {
	Set    setOfferCmd    `cmd:"" help:"Say what a supplier asks for a package of a product, in place of what they asked before."`
	Remove removeOfferCmd `cmd:"" help:"A supplier no longer sells a package of a product."`
	List   listOffersCmd  `cmd:"" help:"List what suppliers ask."`
}

// ofOffer names what a supplier sells.
type ofOffer struct {
	Supplier string `arg:"" help:"The supplier's display name."`
	Product  string `arg:"" help:"The product's display name."`
	Package  string `arg:"" help:"One of its packages."`
}

func (a ofOffer) find(e *env, shop *client.Shop) (supplier, product string, err error) {
	if supplier, err = optionalSupplier(e, shop, a.Supplier); err != nil {
		return "", "", err
	}
	product, err = optionalProduct(e, shop, a.Product)
	return supplier, product, err
}

type setOfferCmd struct {
	command
	ofOffer
	Prices   []string `arg:"" name:"price" help:"What a package costs, such as 21.50; where more cost less, also from how many on: 21.50 6=19.90 12=18" sep:"none"`
	Article  string   `help:"The supplier's number." placeholder:"NUMBER"`
	LeadDays *int32   `help:"How many days this takes to come, if not as the supplier's deliveries do." placeholder:"DAYS"`
}

func (c *setOfferCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &materialsv1.SetOfferRequest{RequestId: c.request(), PackageLabel: c.Package, Article: c.Article, LeadDays: c.LeadDays}
		var err error
		if r.Supplier, r.Product, err = c.find(e, shop); err != nil {
			return err
		}
		if r.PriceBreaks, err = priceBreaks(e, shop, c.Prices); err != nil {
			return err
		}
		resp, err := shop.Suppliers.SetOffer(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printOffers(e, []*materialsv1.Offer{resp.Offer}) })
	})
}

// priceBreaks reads prices, each from so many packages on.
func priceBreaks(e *env, shop *client.Shop, typed []string) (all []*materialsv1.PriceBreak, err error) {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return nil, err
	}
	for _, text := range typed {
		from, price, both := strings.Cut(text, "=")
		if !both {
			from, price = "1", text
		}
		n, err := strconv.ParseInt(strings.TrimSpace(from), 10, 32)
		if err != nil {
			return nil, fmt.Errorf("%q does not say from how many packages on, such as 6=19.90", text)
		}
		b := &materialsv1.PriceBreak{FromPackages: int32(n)}
		if b.Price, err = terms.Amount(strings.TrimSpace(price)); err != nil {
			return nil, err
		}
		all = append(all, b)
	}
	return all, nil
}

type removeOfferCmd struct {
	command
	ofOffer
}

func (c *removeOfferCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &materialsv1.RemoveOfferRequest{RequestId: c.request(), PackageLabel: c.Package}
		var err error
		if r.Supplier, r.Product, err = c.find(e, shop); err != nil {
			return err
		}
		resp, err := shop.Suppliers.RemoveOffer(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "%s no longer sells the %s of %s.\n", c.Supplier, c.Package, c.Product)
			return err
		})
	})
}

type listOffersCmd struct {
	listOutput
	Product  string `help:"Only of this product." placeholder:"NAME"`
	Supplier string `help:"Only of this supplier." placeholder:"NAME"`
}

func (c *listOffersCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter := &materialsv1.ListOffersRequest{}
		var err error
		if filter.Supplier, filter.Product, err = (ofOffer{Supplier: c.Supplier, Product: c.Product}).find(e, shop); err != nil {
			return err
		}
		offers, err := offersOf(e, shop, filter)
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListOffersResponse{Offers: offers}, func() error { return printOffers(e, offers) })
	})
}

func offersOf(e *env, shop *client.Shop, filter *materialsv1.ListOffersRequest) ([]*materialsv1.Offer, error) {
	return client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Offer, string, error) {
		filter.PageSize, filter.PageToken = 1000, token
		r, err := shop.Suppliers.ListOffers(ctx, filter)
		return r.GetOffers(), r.GetNextPageToken(), err
	})
}

func printOffers(e *env, offers []*materialsv1.Offer) error {
	t := &report.Table{Headings: []string{"product", "supplier", "package", " holds", "number", "price", " comes in"}}
	for _, o := range offers {
		lead := "–"
		if o.LeadDays != nil {
			lead = fmt.Sprintf("%d days", *o.LeadDays)
		}
		supplier := o.SupplierName
		if o.SupplierRetired {
			supplier += " (retired)"
		}
		t.Add(o.ProductName, supplier, o.PackageLabel, report.Quantity(o.Content), o.Article, each(o.PriceBreaks, priceWord), lead)
	}
	return t.Print(e.out)
}

func priceWord(b *materialsv1.PriceBreak) string {
	if b.FromPackages <= 1 {
		return report.Money(b.Price)
	}
	return fmt.Sprintf("%s from %d on", report.Money(b.Price), b.FromPackages)
}
