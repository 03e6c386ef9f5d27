package cli

import (
	"context"
	"fmt"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type saleCmd struct {
	Offer  offerCmd        `cmd:"" help:"List a piece at an asking price."`
	Price  priceCmd        `cmd:"" help:"Change the asking price."`
	Sell   sellCmd         `cmd:"" help:"Sell a piece, or invoice a commission."`
	Refund refundCmd       `cmd:"" help:"Give money back for the last sale of a piece."`
	List   listListingsCmd `cmd:"" help:"List what is listed and sold."`
}

type offerCmd struct {
	command
	Piece   string `arg:"" help:"Tag number."`
	Price   string `arg:"" help:"Asking price."`
	Channel string `help:"Where it is offered." default:"shop floor"`
}

func (c *offerCmd) Run(e *env) error {
	return e.withPiecePrice(c.Piece, c.Price, func(shop *client.Shop, piece string, price *moneyv1.Money) error {
		at, err := c.at()
		if err != nil {
			return err
		}
		resp, err := shop.Sales.CreateListing(e.ctx, &salesv1.CreateListingRequest{RequestId: c.request(), Piece: piece, Channel: c.Channel, AskingPrice: price, ListTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printListings(e, []*salesv1.Listing{resp.Listing}) })
	})
}

// withPiecePrice finds the piece and reads the price.
func (e *env) withPiecePrice(tag, price string, fn func(*client.Shop, string, *moneyv1.Money) error) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, tag)
		if err != nil {
			return err
		}
		till, err := openTill(e.ctx, shop)
		if err != nil {
			return err
		}
		m, err := till.amount(price)
		if err != nil {
			return err
		}
		return fn(shop, p.Name, m)
	})
}

type priceCmd struct {
	command
	Piece  string `arg:"" help:"Tag number."`
	Price  string `arg:"" help:"New asking price."`
	Reason string `help:"Why." required:""`
}

func (c *priceCmd) Run(e *env) error {
	return e.withPiecePrice(c.Piece, c.Price, func(shop *client.Shop, piece string, price *moneyv1.Money) error {
		at, err := c.at()
		if err != nil {
			return err
		}
		resp, err := shop.Sales.ChangeAskingPrice(e.ctx, &salesv1.ChangeAskingPriceRequest{RequestId: c.request(), Piece: piece, AskingPrice: price, Reason: c.Reason, ChangeTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printListings(e, []*salesv1.Listing{resp.Listing}) })
	})
}

// moneyFlags are the parts of a sale or a refund beside the price.
type moneyFlags struct {
	Tax string `help:"Sales tax on top of the price." placeholder:"AMOUNT"`
	Fee string `help:"What the channel keeps, or gives back." placeholder:"AMOUNT"`
}

func (f moneyFlags) read(ctx context.Context, shop *client.Shop) (tax, fee *moneyv1.Money, err error) {
	till, err := openTill(ctx, shop)
	if err != nil {
		return nil, nil, err
	}
	if tax, err = till.amount(f.Tax); err != nil {
		return nil, nil, err
	}
	fee, err = till.amount(f.Fee)
	return tax, fee, err
}

type sellCmd struct {
	command
	moneyFlags
	Piece   string `arg:"" help:"Tag number."`
	Price   string `arg:"" help:"Price without tax."`
	Channel string `help:"Where it was sold, if not where it is listed."`
	Buyer   string `help:"Who bought it."`
}

func (c *sellCmd) Run(e *env) error {
	return e.withPiecePrice(c.Piece, c.Price, func(shop *client.Shop, piece string, price *moneyv1.Money) error {
		r := &salesv1.SellPieceRequest{RequestId: c.request(), Piece: piece, Price: price, Channel: c.Channel, Buyer: c.Buyer}
		var err error
		if r.SaleTime, err = c.at(); err != nil {
			return err
		}
		if r.Tax, r.Fee, err = c.read(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Sales.SellPiece(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printListings(e, []*salesv1.Listing{resp.Listing}) })
	})
}

type refundCmd struct {
	command
	moneyFlags
	Piece    string `arg:"" help:"Tag number."`
	Price    string `arg:"" optional:"" help:"How much of the price goes back."`
	Returned bool   `help:"The piece comes back too."`
	Reason   string `help:"Why." required:""`
}

func (c *refundCmd) Run(e *env) error {
	return e.withPiecePrice(c.Piece, c.Price, func(shop *client.Shop, piece string, price *moneyv1.Money) error {
		listing, err := shop.Sales.GetListing(e.ctx, &salesv1.GetListingRequest{Name: "listings/" + strings.TrimPrefix(piece, "pieces/")})
		if err != nil {
			return err
		}
		sales := listing.Listing.Sales
		if len(sales) == 0 {
			return fault.New(fault.Precondition, "SALE_NOT_FOUND", "The piece was never sold, so there is nothing to give back.")
		}
		r := &salesv1.RefundSaleRequest{RequestId: c.request(), Sale: sales[len(sales)-1].Name, Price: price, PieceReturned: c.Returned, Reason: c.Reason}
		if r.RefundTime, err = c.at(); err != nil {
			return err
		}
		if r.Tax, r.Fee, err = c.read(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Sales.RefundSale(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printListings(e, []*salesv1.Listing{resp.Listing}) })
	})
}

type listListingsCmd struct{ output }

func (c *listListingsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		listings, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*salesv1.Listing, string, error) {
			r, err := shop.Sales.ListListings(ctx, &salesv1.ListListingsRequest{PageSize: 1000, PageToken: token})
			return r.GetListings(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &salesv1.ListListingsResponse{Listings: listings}, func() error { return printListings(e, listings) })
	})
}

func printListings(e *env, listings []*salesv1.Listing) error {
	t := &report.Table{Headings: []string{" tag", "state", "channel", " asking", " sold for", " tax", " fee", " given back", "buyer"}}
	for _, l := range listings {
		row := []string{fmt.Sprint(l.Tag), report.State(l.State.String()), l.Channel, report.Money(l.AskingPrice), "–", "–", "–", "–", ""}
		if n := len(l.Sales); n > 0 {
			s := l.Sales[n-1]
			row[4], row[5], row[6], row[7], row[8] = report.Money(s.Price), report.Money(s.Tax), report.Money(s.Fee), report.Money(s.PriceRefunded), s.Buyer
		}
		t.Add(row...)
	}
	return t.Print(e.out)
}
