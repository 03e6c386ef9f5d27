package cli

import (
	"errors"
	"fmt"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type returnCmd struct {
	timed
	slip
	Issue    string `arg:"" help:"The issue's id, as the list of issues shows it."`
	Quantity string `arg:"" help:"How much came back."`
	Note     string `help:"What there is to say of it."`
}

func (c *returnCmd) Run(e *env) error {
	q, err := quantity(c.Quantity)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		issue, err := shop.Issue(e.ctx, c.Issue)
		if err != nil {
			return err
		}
		r := &materialsv1.ReturnMaterialRequest{RequestId: c.request(), Issue: issue, Quantity: q, Note: c.Note}
		if r.ReturnTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Stock.ReturnMaterial(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.ReturnTime)
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "%s of %s came back%s; %s on hand.\n", report.Quantity(q), resp.Issue.GetProductName(), report.Behind(", worth ", resp.Cost),
				report.Quantity(resp.Product.GetOnHand()))
			return sayRecosted(e, shop, resp.Recostings)
		})
	})
}

type wasteCmd struct {
	timed
	slip
	Product  string `arg:"" help:"Display name."`
	Quantity string `arg:"" help:"How much, such as 30mL."`
	Cause    string `arg:"" help:"gun-cleaning, hose, left-over, expired, spoilt or spilt."`
	Piece    string `arg:"" optional:"" help:"Tag number of the piece at whose stage it was lost; of gun-cleaning, hose and left-over."`
	Stage    string `arg:"" optional:"" help:"Title of the stage."`
	Lot      string `help:"Of which lot, by its id or the maker's number; without it, of what is used first." placeholder:"LOT"`
	Note     string `help:"What there is to say of it."`
}

func (c *wasteCmd) Run(e *env) error {
	if (c.Piece == "") != (c.Stage == "") {
		return errors.New("say the piece and its stage, or neither: then it is a loss of the shop")
	}
	q, err := quantity(c.Quantity)
	if err != nil {
		return err
	}
	cause, err := readEnum[materialsv1.WasteCause]("WASTE_CAUSE_", c.Cause, materialsv1.WasteCause_value)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		r := &materialsv1.RecordWasteRequest{RequestId: c.request(), Quantity: q, Cause: cause, Note: c.Note}
		if err := c.find(e, shop, r); err != nil {
			return err
		}
		resp, err := shop.Stock.RecordWaste(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.WasteTime)
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "%s of %s are waste%s, at the cost of %s; %s left.\n", report.Quantity(q), resp.Product.GetDisplayName(),
				worth(resp.Movement), c.payer(), report.Quantity(resp.Product.GetOnHand()))
			return sayRecosted(e, shop, resp.Recostings)
		})
	})
}

// find finds what it is of and at which stage it was lost, and reads when.
func (c *wasteCmd) find(e *env, shop *client.Shop, r *materialsv1.RecordWasteRequest) error {
	p, err := shop.Product(e.ctx, c.Product)
	if err != nil {
		return err
	}
	r.Product = p.Name
	if r.WasteTime, err = c.at(e.ctx, shop); err != nil {
		return err
	}
	if r.Lot, err = optionalLot(e, shop, p, c.Lot); err != nil || c.Piece == "" {
		return err
	}
	stage, err := stageArgs{c.Piece, c.Stage}.find(e.ctx, shop)
	r.Stage = stage.GetName()
	return err
}

func (c *wasteCmd) payer() string {
	if c.Piece == "" {
		return "the shop"
	}
	return "piece " + c.Piece
}

// worth is what a movement cost, whichever way it went, behind a comma; nothing for who is not told it.
func worth(m *materialsv1.Movement) string {
	if m.GetCost() == nil {
		return ""
	}
	return ", worth " + strings.TrimPrefix(report.Money(m.GetCost()), "-")
}

type countCmd struct {
	timed
	slip
	Product  string `arg:"" help:"Display name."`
	Quantity string `arg:"" help:"How much there was, such as 1.5L; 0L: none."`
	Lot      string `help:"Only of this lot, by its id or the maker's number; without it, all of the product." placeholder:"LOT"`
	Reason   string `help:"Why it is not what was expected, if anybody knows."`
}

func (c *countCmd) Run(e *env) error {
	q, err := quantity(c.Quantity)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		r := &materialsv1.CountStockRequest{RequestId: c.request(), Product: p.Name, Quantity: q, Reason: c.Reason}
		if r.Lot, err = optionalLot(e, shop, p, c.Lot); err != nil {
			return err
		}
		if r.CountTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Stock.CountStock(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.CountTime)
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "%s of %s were counted: %s; %s on hand%s.\n", report.Quantity(q), p.DisplayName, counted(resp),
				report.Quantity(resp.Product.GetOnHand()), report.Behind(", worth ", resp.Product.GetValue()))
			return sayRecosted(e, shop, resp.Recostings)
		})
	})
}

// counted says what was missing or too much, and what that was worth.
func counted(r *materialsv1.CountStockResponse) string {
	missing, below := strings.CutPrefix(r.Difference.GetValue(), "-")
	switch {
	case below:
		return fmt.Sprintf("%s missing%s", report.Quantity(&typev1.Quantity{Value: missing, Unit: r.Difference.GetUnit()}), worth(r.Movement))
	case none(r.Difference):
		return "as was expected"
	}
	return fmt.Sprintf("%s too much%s", report.Quantity(r.Difference), worth(r.Movement))
}
