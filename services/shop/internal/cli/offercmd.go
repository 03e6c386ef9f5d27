package cli

import (
	"context"
	"fmt"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type offerGroup struct {
	Note     noteOfferCmd       `cmd:"" help:"Note what a buyer offers for a listed piece."`
	Counter  counterOfferCmd    `cmd:"" help:"Say for what the buyer could have it."`
	Accept   acceptOfferCmd     `cmd:"" help:"Agree: the piece is held for the buyer at the price that was said last, and other offers are passed over."`
	Decline  declineOfferCmd    `cmd:"" help:"Say no."`
	Withdraw withdrawOfferCmd   `cmd:"" help:"Note that the buyer does not want it any more."`
	List     listBuyerOffersCmd `cmd:"" help:"Show what was offered, the newest first."`
}

type noteOfferCmd struct {
	timed
	Piece string `arg:"" help:"Tag number."`
	Buyer string `arg:"" help:"Who offers."`
	Price string `arg:"" help:"What, without tax."`
	Via   string `help:"How it came: phone, stall, letter." placeholder:"WAY"`
	Until string `help:"Until when the offer holds, as --until of hold add; without it, until somebody answers." placeholder:"TIME"`
	Note  string `help:"Whatever else was said."`
}

func (c *noteOfferCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &salesv1.RecordOfferRequest{RequestId: c.request(), Piece: p.Name, Buyer: c.Buyer, Channel: c.Via, Note: c.Note}
		if r.Price, err = terms.Amount(c.Price); err != nil {
			return err
		}
		if r.UntilTime, err = c.until(e, shop, c.Until); err != nil {
			return err
		}
		if r.OfferTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Offers.RecordOffer(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printBuyerOffers(e, shop, []*salesv1.Offer{resp.Offer}) })
	})
}

func buyerOffersOf(ctx context.Context, shop *client.Shop, tag string, state salesv1.Offer_State) ([]*salesv1.Offer, error) {
	piece, err := pieceOrAll(ctx, shop, tag)
	if err != nil {
		return nil, err
	}
	return client.All(ctx, func(ctx context.Context, token string) ([]*salesv1.Offer, string, error) {
		r, err := shop.Offers.ListOffers(ctx, &salesv1.ListOffersRequest{Piece: piece, State: state, PageToken: token})
		return r.GetOffers(), r.GetNextPageToken(), err
	})
}

// offerAnswer is a command about an offer.
type offerAnswer struct {
	command
	which
}

// run finds the offer that is meant, of those that are open, and gives the command.
func (c *offerAnswer) run(e *env, give func(shop *client.Shop, offer string) (*salesv1.Offer, error)) error {
	return e.with(func(shop *client.Shop) error {
		offer, err := c.find(e, shop)
		if err != nil {
			return err
		}
		o, err := give(shop, offer)
		if err != nil {
			return err
		}
		return c.print(e, o, func() error { return printBuyerOffers(e, shop, []*salesv1.Offer{o}) })
	})
}

func (c *offerAnswer) find(e *env, shop *client.Shop) (string, error) {
	all, err := buyerOffersOf(e.ctx, shop, c.Piece, salesv1.Offer_STATE_UNSPECIFIED)
	if err != nil {
		return "", err
	}
	var open []string
	for _, o := range all {
		if o.State == salesv1.Offer_STATE_OPEN || o.State == salesv1.Offer_STATE_COUNTERED {
			open = append(open, o.Name)
		}
	}
	return c.open(&c.command, "offers", open)
}

type counterOfferCmd struct {
	offerAnswer
	Price string `arg:"" help:"The shop's price, without tax."`
	Until string `help:"Until when it holds, as --until of hold add; without it, until somebody answers." placeholder:"TIME"`
}

func (c *counterOfferCmd) Run(e *env) error {
	return c.run(e, func(shop *client.Shop, offer string) (*salesv1.Offer, error) {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return nil, err
		}
		r := &salesv1.CounterOfferRequest{RequestId: c.request(), Offer: offer}
		if r.Price, err = terms.Amount(c.Price); err != nil {
			return nil, err
		}
		if r.UntilTime, err = c.until(e, shop, c.Until); err != nil {
			return nil, err
		}
		resp, err := shop.Offers.CounterOffer(e.ctx, r)
		return resp.GetOffer(), err
	})
}

type acceptOfferCmd struct {
	offerAnswer
	depositFlags
	Until string `help:"Until when the piece is held for the buyer: a time; a day alone: until the shop closes on it; or from now on, as 3d or 48h." required:"" placeholder:"TIME"`
}

func (c *acceptOfferCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		offer, err := c.find(e, shop)
		if err != nil {
			return err
		}
		r := &salesv1.AcceptOfferRequest{RequestId: c.request(), Offer: offer}
		if r.UntilTime, err = c.until(e, shop, c.Until); err != nil {
			return err
		}
		if r.Deposit, r.LapseRule, err = c.read(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Offers.AcceptOffer(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printHolds(e, shop, []*salesv1.Hold{resp.Hold}) })
	})
}

type declineOfferCmd struct {
	offerAnswer
	Reason string `help:"Why."`
}

func (c *declineOfferCmd) Run(e *env) error {
	return c.run(e, func(shop *client.Shop, offer string) (*salesv1.Offer, error) {
		resp, err := shop.Offers.DeclineOffer(e.ctx, &salesv1.DeclineOfferRequest{RequestId: c.request(), Offer: offer, Reason: c.Reason})
		return resp.GetOffer(), err
	})
}

type withdrawOfferCmd struct {
	offerAnswer
	Reason string `help:"Why."`
}

func (c *withdrawOfferCmd) Run(e *env) error {
	return c.run(e, func(shop *client.Shop, offer string) (*salesv1.Offer, error) {
		resp, err := shop.Offers.WithdrawOffer(e.ctx, &salesv1.WithdrawOfferRequest{RequestId: c.request(), Offer: offer, Reason: c.Reason})
		return resp.GetOffer(), err
	})
}

type listBuyerOffersCmd struct {
	listOutput
	Piece string `arg:"" optional:"" help:"Tag number; without it, for all pieces."`
	State string `help:"Only these: open, countered, lapsed, accepted, declined, withdrawn or passed-over." placeholder:"STATE"`
}

func (c *listBuyerOffersCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		state, err := readState[salesv1.Offer_State](c.State, salesv1.Offer_State_value)
		if err != nil {
			return err
		}
		offers, err := buyerOffersOf(e.ctx, shop, c.Piece, state)
		if err != nil {
			return err
		}
		return c.print(e, &salesv1.ListOffersResponse{Offers: offers}, func() error { return printBuyerOffers(e, shop, offers) })
	})
}

func printBuyerOffers(e *env, shop *client.Shop, offers []*salesv1.Offer) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" tag", "who", " offers", " the shop says", "until", "state", "id"}}
	for _, o := range offers {
		t.Add(fmt.Sprint(o.Tag), o.Buyer, report.Money(o.Price), report.Money(o.CounterPrice), terms.Clock(o.UntilTime), report.State(o.State.String()), bare(o.Name))
	}
	return t.Print(e.out)
}
