package cli

import (
	"context"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
)

type saleCmd struct {
	Offer   offerCmd        `cmd:"" help:"List a piece at an asking price."`
	Price   priceCmd        `cmd:"" help:"Change the asking price."`
	Sell    sellCmd         `cmd:"" help:"Sell a piece, or invoice a commission."`
	SellSet sellSetCmd      `cmd:"" help:"Sell several pieces together at one price."`
	ShowSet showSetCmd      `cmd:"" help:"Show how the price of a set was split."`
	Refund  refundCmd       `cmd:"" help:"Give money back for the last sale of a piece, or with --sale for an earlier one."`
	List    listListingsCmd `cmd:"" help:"List what is listed and sold."`
	Show    showSalesCmd    `cmd:"" help:"Show every sale of a piece, and what went back."`
	Advise  adviseSaleCmd   `cmd:"" help:"Say what to ask for a piece, when to ask less, and how soon it is sold."`
	Terms   sellingTermsCmd `cmd:"" help:"Show what is believed and wanted of selling; with flags, change that."`
}

type offerCmd struct {
	timed
	Piece   string `arg:"" help:"Tag number."`
	Price   string `arg:"" help:"Asking price."`
	Channel string `help:"Where it is offered." default:"shop floor"`
}

func (c *offerCmd) Run(e *env) error {
	return e.withPiecePrice(c.Piece, c.Price, func(shop *client.Shop, p *intakev1.Piece, price *moneyv1.Money) error {
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Sales.CreateListing(e.ctx, &salesv1.CreateListingRequest{RequestId: c.request(), Piece: p.Name, Channel: c.Channel, AskingPrice: price, ListTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printListing(e, p, resp.Listing) })
	})
}

// withPiecePrice finds the piece and reads the price.
func (e *env) withPiecePrice(tag, price string, fn func(*client.Shop, *intakev1.Piece, *moneyv1.Money) error) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, tag)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		m, err := terms.Amount(price)
		if err != nil {
			return err
		}
		return fn(shop, p, m)
	})
}

type priceCmd struct {
	timed
	Piece  string `arg:"" help:"Tag number."`
	Price  string `arg:"" help:"New asking price."`
	Reason string `help:"Why." required:""`
}

func (c *priceCmd) Run(e *env) error {
	return e.withPiecePrice(c.Piece, c.Price, func(shop *client.Shop, p *intakev1.Piece, price *moneyv1.Money) error {
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Sales.ChangeAskingPrice(e.ctx, &salesv1.ChangeAskingPriceRequest{RequestId: c.request(), Piece: p.Name, AskingPrice: price, Reason: c.Reason, ChangeTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printListing(e, p, resp.Listing) })
	})
}

// moneyFlags are the parts of a sale or a refund beside the price.
type moneyFlags struct {
	Tax string `help:"Sales tax on top of the price." placeholder:"AMOUNT"`
	Fee string `help:"What the channel keeps, or gives back." placeholder:"AMOUNT"`
}

func (f moneyFlags) read(ctx context.Context, shop *client.Shop) (tax, fee *moneyv1.Money, err error) {
	terms, err := shop.Terms(ctx)
	if err != nil {
		return nil, nil, err
	}
	if tax, err = terms.Amount(f.Tax); err != nil {
		return nil, nil, err
	}
	fee, err = terms.Amount(f.Fee)
	return tax, fee, err
}

type sellCmd struct {
	timed
	moneyFlags
	Piece string `arg:"" help:"Tag number."`
	Price string `arg:"" help:"Price without tax."`
	sellFlags
	Channel string `help:"Where it was sold, if not where it is listed."`
	Buyer   string `help:"Who bought it."`
	Held    bool   `help:"It is held, and sold to whom it is held for; the deposit goes into the sale."`
	Hold    string `help:"The same by the hold's id, as hold list has it." placeholder:"ID"`
}

func (c *sellCmd) Run(e *env) error {
	return e.withPiecePrice(c.Piece, c.Price, func(shop *client.Shop, p *intakev1.Piece, price *moneyv1.Money) error {
		r := &salesv1.SellPieceRequest{RequestId: c.request(), Piece: p.Name, Price: price, Channel: c.Channel, Buyer: c.Buyer}
		var err error
		if r.SaleTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		if r.Tax, r.Fee, err = c.read(e.ctx, shop); err != nil {
			return err
		}
		r.TaxPlace, r.Exempt, r.ExemptReason, r.OnAccount = c.Place, c.Exempt != "", c.Exempt, c.OnAccount
		if r.Method, err = readMethod(c.Method); err != nil {
			return err
		}
		if r.Hold, err = c.hold(e, shop); err != nil {
			return err
		}
		resp, err := shop.Sales.SellPiece(e.ctx, r)
		if err != nil {
			return err
		}
		err = c.print(e, resp, func() error {
			noteFee(e, resp.GetSale().GetFeeFromChannel(), resp.GetSale().GetChannel(), resp.GetSale().GetFee())
			noteTerms(e, resp.GetSale())
			return printListing(e, p, resp.Listing)
		})
		noteClosed(e, shop, r.SaleTime)
		return err
	})
}
