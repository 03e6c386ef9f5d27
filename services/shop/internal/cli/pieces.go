package cli

import (
	"fmt"
	"strings"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type listPiecesCmd struct{ listOutput }

func (c *listPiecesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		pieces, err := shop.AllPieces(e.ctx)
		if err != nil {
			return err
		}
		return c.print(e, &intakev1.ListPiecesResponse{Pieces: pieces}, func() error { return printPieces(e, shop, pieces) })
	})
}

func printPieces(e *env, shop *client.Shop, pieces []*intakev1.Piece) error {
	listings, err := shop.AllListings(e.ctx)
	if err != nil {
		return err
	}
	offered := map[string]salesv1.Listing_State{}
	for _, l := range listings {
		offered[l.Piece] = l.State
	}
	t := &report.Table{Headings: []string{" tag", "piece", "kind", "from", "state"}}
	for _, p := range pieces {
		t.Add(fmt.Sprint(p.Tag), p.Title, p.Kind, originOf(p), stateOf(p, offered[p.Name]))
	}
	return t.Print(e.out)
}

func originOf(p *intakev1.Piece) string {
	if c := p.GetCommission(); c != nil {
		return "commission of " + c.Client
	}
	bought := p.GetPurchase().GetSource() + report.Behind(", ", p.GetPurchase().GetPrice())
	if p.GetPurchase().GetLot() != "" {
		bought += " of a lot"
	}
	return bought
}

// stateOf is how far a piece has come: intake knows whether it was given up, sales whether
// it is offered or gone.
func stateOf(p *intakev1.Piece, offered salesv1.Listing_State) string {
	switch {
	case p.GetState() == intakev1.Piece_STATE_SCRAPPED:
		return "scrapped"
	case offered == salesv1.Listing_STATE_SOLD && p.GetCommission() != nil:
		return "invoiced"
	case offered == salesv1.Listing_STATE_SOLD, offered == salesv1.Listing_STATE_LISTED:
		return report.State(offered.String())
	}
	return report.State(p.GetState().String())
}

type showPieceCmd struct {
	listOutput
	Piece string `arg:"" help:"Tag number."`
}

func (c *showPieceCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		return c.print(e, p, func() error { return printPiece(e, shop, p) })
	})
}

func printPiece(e *env, shop *client.Shop, p *intakev1.Piece) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	listing, err := shop.Sales.GetListing(e.ctx, &salesv1.GetListingRequest{Name: listingOf(p.Name)})
	if err != nil && !fault.Is(err, "LISTING_NOT_FOUND") {
		return err
	}
	fmt.Fprintf(e.out, "%d  %s (%s), %s, %s, in since %s\n\n", p.Tag, p.Title, describedAs(p), originOf(p),
		stateOf(p, listing.GetListing().GetState()), terms.Clock(p.TakenInTime))
	if err := printSeenBefore(e, shop, p); err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"part", " count", " length", " width", " thickness"}}
	for _, part := range p.Parts {
		t.Add(part.Label, fmt.Sprint(part.Count), report.Quantity(part.Length), report.Quantity(part.Width), report.Quantity(part.Thickness))
	}
	return t.Print(e.out)
}

// describedAs is the kind of a piece, and what was said of it beside.
func describedAs(p *intakev1.Piece) string {
	words := []string{p.Kind}
	if p.Size != typev1.PieceSize_PIECE_SIZE_UNSPECIFIED {
		words = append(words, enumWord("PIECE_SIZE_", p.Size.String()))
	}
	if p.Condition != typev1.PieceCondition_PIECE_CONDITION_UNSPECIFIED {
		words = append(words, enumWord("PIECE_CONDITION_", p.Condition.String()))
	}
	return strings.Join(words, ", ")
}

// listingOf is what sales calls a piece.
func listingOf(piece string) string { return "listings/" + strings.TrimPrefix(piece, "pieces/") }

// tagsOf are the numbers on the tags of all pieces, by their names.
func tagsOf(e *env, shop *client.Shop) (map[string]string, error) {
	pieces, err := shop.AllPieces(e.ctx)
	if err != nil {
		return nil, err
	}
	tags := map[string]string{}
	for _, p := range pieces {
		tags[p.Name] = fmt.Sprint(p.Tag)
	}
	return tags, nil
}

// pieceOf is the piece of a stage: pieces/{piece}/stages/{id}.
func pieceOf(stage string) string {
	piece, _, _ := strings.Cut(stage, "/stages/")
	return piece
}
