package cli

import (
	"context"
	"fmt"
	"slices"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
	"tackfree/pkg/printed/tagged"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type printTagsCmd struct {
	printing
	Pieces []string `name:"piece" help:"Tag number of a piece; several: once more for each. Without it all that are in hand: neither given up nor sold." sep:"none" placeholder:"TAG"`
}

const tagSize = "90x60"

// Help implements kong.HelpProvider.
func (printTagsCmd) Help() string {
	return printHelpText("A tag has the piece's number, its parts, by when it is promised, and what is known of lead: without a test it is presumed.", tagSize)
}

func (c *printTagsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		pieces, err := c.pieces(e, shop)
		if err != nil {
			return err
		}
		promises, err := promisesOf(e, shop)
		if err != nil {
			return err
		}
		labels := make([]printed.Label, len(pieces))
		for i, p := range pieces {
			if labels[i], err = c.label(e, shop, p, promises[p.Name]); err != nil {
				return err
			}
		}
		return c.write(e, "tags", tagSize, labels)
	})
}

// pieces are those that are named, or all in hand by their tags.
func (c *printTagsCmd) pieces(e *env, shop *client.Shop) (named []*intakev1.Piece, err error) {
	if len(c.Pieces) == 0 {
		return inHand(e, shop)
	}
	for _, tag := range c.Pieces {
		p, err := shop.Piece(e.ctx, tag)
		if err != nil {
			return nil, err
		}
		named = append(named, p)
	}
	return named, nil
}

// inHand are the pieces that were neither given up nor sold, by their tags.
func inHand(e *env, shop *client.Shop) ([]*intakev1.Piece, error) {
	pieces, err := shop.AllPieces(e.ctx)
	if err != nil {
		return nil, err
	}
	listings, err := shop.AllListings(e.ctx)
	if err != nil {
		return nil, err
	}
	gone := map[string]bool{}
	for _, l := range listings {
		gone[l.Piece] = gone[l.Piece] || l.State == salesv1.Listing_STATE_SOLD
	}
	pieces = slices.DeleteFunc(pieces, func(p *intakev1.Piece) bool { return gone[p.Name] || p.State != intakev1.Piece_STATE_IN_HAND })
	slices.SortFunc(pieces, func(a, b *intakev1.Piece) int { return int(a.Tag) - int(b.Tag) })
	if len(pieces) > printed.MostLabels {
		return nil, printed.ErrTooMany
	}
	return pieces, nil
}

// promisesOf are the promises of the board, by piece, by the clock on the shop's wall.
func promisesOf(e *env, shop *client.Shop) (map[string]string, error) {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return nil, err
	}
	lines, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.BoardLine, string, error) {
		r, err := shop.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{PageSize: 1000, PageToken: token})
		return r.GetLines(), r.GetNextPageToken(), err
	})
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, l := range lines {
		if l.PromiseTime != nil {
			out[l.Piece] = terms.Clock(l.PromiseTime)
		}
	}
	return out, nil
}

func (c *printTagsCmd) label(e *env, shop *client.Shop, p *intakev1.Piece, promise string) (l printed.Label, err error) {
	tests, err := shop.Tests.ListPartTests(e.ctx, &workflowv1.ListPartTestsRequest{Piece: p.Name})
	if err != nil && !fault.Is(err, "PIECE_NOT_FOUND") { // the floor may not have heard of it yet
		return l, err
	}
	it := tagged.Piece{Piece: p, Kind: p.Kind, Promise: promise}
	it.Presumed, it.Found = tagged.Leaded(p.Parts, tests.GetTests())
	it.Code, err = c.code(fmt.Sprintf("pieces/%d", p.Tag))
	return tagged.Of(it, labelWords), err
}
