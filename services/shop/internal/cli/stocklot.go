package cli

import (
	"errors"
	"fmt"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

// ofLot names a lot of a product.
type ofLot struct {
	Product string `arg:"" help:"Display name."`
	Lot     string `help:"Its id, as the list of lots shows it; the maker's number; or 'mix 12', as on the lid. Without it: the only one there is." placeholder:"LOT"`
}

// find finds the lot. One that was not typed is kept for the line to give again, for by then there
// may be others.
func (a ofLot) find(e *env, shop *client.Shop, fixed *again, fits func(*materialsv1.Lot) bool) (*materialsv1.Lot, *materialsv1.Product, error) {
	p, err := shop.Product(e.ctx, a.Product)
	if err != nil {
		return nil, nil, err
	}
	if a.Lot != "" {
		l, err := shop.Lot(e.ctx, p, a.Lot)
		return l, p, err
	}
	l, err := shop.OnlyLot(e.ctx, p, fits)
	if err == nil {
		fixed.flags = append(fixed.flags, "--lot", bare(l.Name))
	}
	return l, p, err
}

func anyLot(*materialsv1.Lot) bool      { return true }
func usable(l *materialsv1.Lot) bool    { return !l.Closed }
func cameIn(l *materialsv1.Lot) bool    { return l.PartOf == "" && l.Mix == "" }
func closedYet(l *materialsv1.Lot) bool { return !l.Closed && !l.Open }

// optionalLot finds the lot that was typed; none stays absent.
func optionalLot(e *env, shop *client.Shop, p *materialsv1.Product, ref string) (string, error) {
	if ref == "" {
		return "", nil
	}
	l, err := shop.Lot(e.ctx, p, ref)
	return l.GetName(), err
}

type openCmd struct {
	timed
	slip
	ofLot
	Package  string `help:"Which of its packages; without it and --quantity, all of the lot." placeholder:"LABEL" xor:"package"`
	Count    *int32 `help:"How many packages; without it, one." placeholder:"NUMBER" xor:"count"`
	Quantity string `help:"How much, if not by package." placeholder:"QUANTITY" xor:"package,count"`
}

func (c *openCmd) Run(e *env) error {
	r := &materialsv1.OpenPackageRequest{RequestId: c.request()}
	if err := c.amount(r); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		l, _, err := c.find(e, shop, &c.fixed, closedYet)
		if err != nil {
			return err
		}
		r.Lot = l.Name
		if r.OpenTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Stock.OpenPackage(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.OpenTime)
		return c.print(e, resp, func() error { return sayLots(e, shop, resp.Recostings, resp.Lot) })
	})
}

func (c *openCmd) amount(r *materialsv1.OpenPackageRequest) error {
	switch {
	case c.Quantity != "":
		q, err := quantity(c.Quantity)
		r.Amount = &materialsv1.OpenPackageRequest_Quantity{Quantity: q}
		return err
	case c.Package != "":
		packages := &materialsv1.ReceiveStockRequest_Packages{Label: c.Package, Count: 1}
		if c.Count != nil {
			packages.Count = *c.Count
		}
		r.Amount = &materialsv1.OpenPackageRequest_Packages{Packages: packages}
	case c.Count != nil:
		return errors.New("say which package --count counts: --package")
	}
	return nil
}

type moveLotCmd struct {
	timed
	slip
	ofLot
	Place    string `arg:"" help:"The place's word or name."`
	Quantity string `help:"How much of it; without it, all." placeholder:"QUANTITY"`
}

func (c *moveLotCmd) Run(e *env) error {
	q, err := optionalQuantity(c.Quantity)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		l, _, err := c.find(e, shop, &c.fixed, anyLot)
		if err != nil {
			return err
		}
		place, err := shop.Place(e.ctx, c.Place)
		if err != nil {
			return err
		}
		r := &materialsv1.MoveLotRequest{RequestId: c.request(), Lot: l.Name, Quantity: q, Place: place.Name}
		if r.MoveTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Stock.MoveLot(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.MoveTime)
		return c.print(e, resp, func() error { return sayLots(e, shop, resp.Recostings, resp.Lot) })
	})
}

type closeLotCmd struct {
	timed
	slip
	ofLot
	Reason string `help:"Why." required:""`
}

func (c *closeLotCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		l, p, err := c.find(e, shop, &c.fixed, usable)
		if err != nil {
			return err
		}
		r := &materialsv1.CloseLotRequest{RequestId: c.request(), Lot: l.Name, Reason: c.Reason}
		if r.CloseTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Stock.CloseLot(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.CloseTime)
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "Nothing more of that lot of %s is used; %s stay on the shelf until they are written down as waste.\n", p.DisplayName, report.Quantity(resp.Lot.GetLeft()))
			return sayRecosted(e, shop, resp.Recostings)
		})
	})
}

type fixCostCmd struct {
	command
	slip
	ofLot
	Cost   string `arg:"" help:"What the whole lot cost, as it came in."`
	Reason string `help:"Why it is another." required:""`
}

func (c *fixCostCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		l, p, err := c.find(e, shop, &c.fixed, cameIn)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &materialsv1.CorrectLotCostRequest{RequestId: c.request(), Lot: l.Name, Reason: c.Reason}
		if r.Cost, err = terms.Amount(c.Cost); err != nil {
			return err
		}
		resp, err := shop.Stock.CorrectLotCost(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, resp.GetLot().GetReceiveTime())
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "That lot of %s cost %s, not %s; %s on hand are worth %s.\n", p.DisplayName, report.Money(resp.Lot.GetCost()), report.Money(l.Cost),
				report.Quantity(resp.Product.GetOnHand()), report.Money(resp.Product.GetValue()))
			return sayRecosted(e, shop, resp.Recostings)
		})
	})
}
