package cli

import (
	"context"
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type listingCmd struct {
	Withdraw withdrawCmd        `cmd:"" help:"Offer a piece no longer, on no channel; sale offer lists it again."`
	Channels listingChannelsCmd `cmd:"" help:"Offer a listed piece on other channels too, at the same price, or on some no longer."`
	Plan     markdownGroup      `cmd:"" help:"When less is asked for a listed piece: the plan runs by itself at the shop's midnight."`
	Text     listingTextCmd     `cmd:"" help:"Write what can be said of a piece to buyers, from nothing but what was noted of it."`
	Feed     feedCmd            `cmd:"" help:"All listed pieces with text, price, channels and photos, for other programs."`
}

// withListed finds a piece and when something was done with its listing, and gives the command.
func (c *timed) withListed(e *env, tag string, give func(shop *client.Shop, p *intakev1.Piece) (*salesv1.Listing, error)) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, tag)
		if err != nil {
			return err
		}
		l, err := give(shop, p)
		if err != nil {
			return err
		}
		return c.print(e, l, func() error { return printStanding(e, shop, p, l) })
	})
}

type withdrawCmd struct {
	timed
	Piece  string `arg:"" help:"Tag number."`
	Reason string `help:"Why." required:""`
}

func (c *withdrawCmd) Run(e *env) error {
	return c.withListed(e, c.Piece, func(shop *client.Shop, p *intakev1.Piece) (*salesv1.Listing, error) {
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return nil, err
		}
		resp, err := shop.Listings.WithdrawListing(e.ctx, &salesv1.WithdrawListingRequest{RequestId: c.request(), Piece: p.Name, Reason: c.Reason, WithdrawTime: at})
		return resp.GetListing(), err
	})
}

type listingChannelsCmd struct {
	timed
	Piece  string   `arg:"" help:"Tag number."`
	Add    []string `help:"Offer it there too; can be given again." placeholder:"CHANNEL" sep:"none"`
	Remove []string `help:"Offer it there no longer; can be given again." placeholder:"CHANNEL" sep:"none"`
}

func (c *listingChannelsCmd) Run(e *env) error {
	return c.withListed(e, c.Piece, func(shop *client.Shop, p *intakev1.Piece) (*salesv1.Listing, error) {
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return nil, err
		}
		resp, err := shop.Listings.ChangeListingChannels(e.ctx, &salesv1.ChangeListingChannelsRequest{
			RequestId: c.request(), Piece: p.Name, Add: c.Add, Remove: c.Remove, ChangeTime: at})
		return resp.GetListing(), err
	})
}

// printStanding says where a piece is offered.
func printStanding(e *env, shop *client.Shop, p *intakev1.Piece, l *salesv1.Listing) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	switch {
	case l.GetState() == salesv1.Listing_STATE_LISTED:
		_, err = fmt.Fprintf(e.out, "Piece %d is offered for %s on %s.\n", p.Tag, report.Money(l.AskingPrice), strings.Join(append([]string{l.Channel}, l.OtherChannels...), ", "))
	case l.GetWithdrawTime() != nil:
		_, err = fmt.Fprintf(e.out, "Piece %d was withdrawn %s: %s.\n", p.Tag, terms.Clock(l.WithdrawTime), strings.TrimSuffix(l.WithdrawReason, "."))
	default:
		_, err = fmt.Fprintf(e.out, "Piece %d is not offered.\n", p.Tag)
	}
	return err
}

type listingTextCmd struct {
	listOutput
	Piece string `arg:"" help:"Tag number."`
}

func (c *listingTextCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Listings.GetListingText(e.ctx, &salesv1.GetListingTextRequest{Piece: p.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printText(e, resp.Text) })
	})
}

// printText writes the text, with who noted what it says.
func printText(e *env, text *salesv1.ListingText) error {
	fmt.Fprintln(e.out, text.GetTitle())
	t := &report.Table{Headings: []string{"text", "by"}}
	for _, line := range text.GetLines() {
		t.Add(line.Text, each(line.Facts, func(f *salesv1.ListingText_Fact) string {
			return enumWord("SOURCE_", f.Source.String()) + ": " + f.What
		}))
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	if len(text.GetNotKnown()) > 0 {
		fmt.Fprintf(e.out, "Nobody noted: %s.\n", strings.Join(text.NotKnown, ", "))
	}
	return nil
}

type feedCmd struct {
	listOutput
	Channel string `help:"Only what is offered there." placeholder:"CHANNEL"`
}

func (c *feedCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		items, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*salesv1.FeedItem, string, error) {
			r, err := shop.Listings.ListFeed(ctx, &salesv1.ListFeedRequest{Channel: c.Channel, PageToken: token})
			return r.GetItems(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &salesv1.ListFeedResponse{Items: items}, func() error {
			t := &report.Table{Headings: []string{" tag", "title", " asking", "channels", " photos", "not known"}}
			for _, i := range items {
				t.Add(fmt.Sprint(i.Tag), i.Title, report.Money(i.AskingPrice), strings.Join(i.Channels, ", "), fmt.Sprint(len(i.Photos)), orDash(strings.Join(i.NotKnown, ", ")))
			}
			return t.Print(e.out)
		})
	})
}
