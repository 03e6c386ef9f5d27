package cli

import (
	"fmt"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
)

type refundCmd struct {
	timed
	moneyFlags
	Piece    string `arg:"" help:"Tag number."`
	Price    string `arg:"" optional:"" help:"How much of the price goes back, and with it the tax it bears at the place where it was sold, unless --tax says another; without it, all that is left of price and tax."`
	Sale     string `help:"An earlier sale of the piece, by its id as sale show lists it; without it, the last." placeholder:"ID"`
	Returned bool   `help:"The piece comes back too."`
	Reason   string `help:"Why." required:""`
}

func (c *refundCmd) Run(e *env) error {
	return e.withPiecePrice(c.Piece, c.Price, func(shop *client.Shop, p *intakev1.Piece, price *moneyv1.Money) error {
		sale, err := c.find(e, shop, p)
		if err != nil {
			return err
		}
		r := &salesv1.RefundSaleRequest{RequestId: c.request(), Sale: sale.Name, Price: price, PieceReturned: c.Returned, Reason: c.Reason}
		if r.RefundTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		if r.Tax, r.Fee, err = c.read(e.ctx, shop); err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		giveAllBack(r, sale, terms.Currency)
		c.fix(r, terms.Currency)
		resp, err := shop.Sales.RefundSale(e.ctx, r)
		if err != nil {
			return err
		}
		err = c.print(e, resp, func() error {
			fmt.Fprintln(e.out, givenBack(p.Tag, r, resp.Tax, terms.Currency))
			return printListing(e, p, resp.Listing)
		})
		noteClosed(e, shop, r.RefundTime)
		return err
	})
}

// find finds the sale that is meant.
func (c *refundCmd) find(e *env, shop *client.Shop, p *intakev1.Piece) (*salesv1.Sale, error) {
	r, err := shop.Sales.GetListing(e.ctx, &salesv1.GetListingRequest{Name: listingOf(p.Name)})
	if err != nil && !fault.Is(err, "LISTING_NOT_FOUND") {
		return nil, err
	}
	sales := r.GetListing().GetSales()
	if len(sales) == 0 {
		return nil, fault.New(fault.Precondition, "SALE_NOT_FOUND", "Piece %d was never sold, so there is nothing to give back.", p.Tag)
	}
	if c.Sale == "" {
		return sales[len(sales)-1], nil
	}
	for _, s := range sales {
		if bare(s.Name) == strings.ToLower(bare(c.Sale)) {
			return s, nil
		}
	}
	return nil, fmt.Errorf("piece %d has no sale %s; `shop sale show %d` lists its sales", p.Tag, c.Sale, p.Tag)
}

// fix keeps what was found out rather than typed, for once it is given back, another sale
// may be the last and less is left of this one.
func (c *refundCmd) fix(r *salesv1.RefundSaleRequest, currency money.Currency) {
	if c.Sale == "" {
		c.fixed.flags = append(c.fixed.flags, "--sale", bare(r.Sale))
	}
	if c.Price != "" {
		return
	}
	c.fixed.words = append(c.fixed.words, currency.Format(amountOf(r.Price, currency)))
	if c.Tax == "" {
		c.fixed.flags = append(c.fixed.flags, "--tax", currency.Format(amountOf(r.Tax, currency)))
	}
}

// giveAllBack completes a refund that says no price: all that is left of price and tax.
// What the channel gives back of its fee is only known when it is said.
func giveAllBack(r *salesv1.RefundSaleRequest, sale *salesv1.Sale, c money.Currency) {
	if r.Price != nil {
		return
	}
	r.Price = minus(sale.Price, sale.PriceRefunded, c)
	if r.Tax == nil {
		r.Tax = minus(sale.Tax, sale.TaxRefunded, c)
	}
}

func minus(whole, gone *moneyv1.Money, c money.Currency) *moneyv1.Money {
	return wire.Shop{Currency: c}.ToMoney(amountOf(whole, c) - amountOf(gone, c))
}

func amountOf(m *moneyv1.Money, c money.Currency) money.Amount {
	a, _ := wire.FromMoney(m, c.Digits)
	return a
}

// givenBack says how much a refund was; the tax may have been reckoned.
func givenBack(tag int32, r *salesv1.RefundSaleRequest, tax *moneyv1.Money, c money.Currency) string {
	amount := func(m *moneyv1.Money) string { return c.Format(amountOf(m, c)) }
	s := fmt.Sprintf("For piece %d go back: %s of the price and %s of the tax. The channel gives back %s of its fee.",
		tag, amount(r.Price), amount(tax), amount(r.Fee))
	if r.PieceReturned {
		s += " The piece is here again."
	}
	return s
}
