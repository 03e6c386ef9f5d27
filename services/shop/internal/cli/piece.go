package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type pieceCmd struct {
	TakeIn takeInCmd     `cmd:"" help:"Take a piece in: bought with --price and --source, or a client's with --client."`
	List   listPiecesCmd `cmd:"" help:"List the pieces."`
	Show   showPieceCmd  `cmd:"" help:"Show a piece and its parts."`
	Scrap  scrapCmd      `cmd:"" help:"Give a piece up."`
}

type takeInCmd struct {
	command
	Title  string   `arg:"" help:"What it is, in a few words."`
	Kind   string   `help:"dresser, table, chair …" required:""`
	Price  string   `help:"What it was bought for." xor:"origin"`
	Source string   `help:"Where it was bought."`
	Client string   `help:"Whose piece it is." xor:"origin"`
	Part   []string `help:"A part: LABEL, or LABEL:COUNT, or LABEL:COUNT:LENGTHxWIDTH[xTHICKNESS] such as drawer:3:16inx7in. Repeat for each." required:"" placeholder:"PART"`
	Tag    int32    `help:"The number on its tag; without it, the next free one."`
}

func (c *takeInCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &intakev1.TakeInPieceRequest{RequestId: c.request(), Title: c.Title, Kind: c.Kind, Tag: c.Tag}
		var err error
		if r.TakenInTime, err = c.at(); err != nil {
			return err
		}
		if err := c.origin(e.ctx, shop, r); err != nil {
			return err
		}
		for _, text := range c.Part {
			part, err := readPart(text)
			if err != nil {
				return err
			}
			r.Parts = append(r.Parts, part)
		}
		resp, err := shop.Intake.TakeInPiece(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Piece %d is taken in: %s.\n", resp.Piece.Tag, resp.Piece.Title)
			return err
		})
	})
}

func (c *takeInCmd) origin(ctx context.Context, shop *client.Shop, r *intakev1.TakeInPieceRequest) error {
	if c.Client != "" {
		r.Origin = &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: c.Client}}
		return nil
	}
	till, err := openTill(ctx, shop)
	if err != nil {
		return err
	}
	price, err := till.amount(c.Price)
	if err != nil {
		return err
	}
	r.Origin = &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: price, Source: c.Source}}
	return nil
}

// readPart reads LABEL[:COUNT[:LENGTHxWIDTH[xTHICKNESS]]].
func readPart(text string) (*intakev1.Part, error) {
	words := strings.SplitN(text, ":", 3)
	part := &intakev1.Part{Label: words[0]}
	if len(words) > 1 {
		n, err := strconv.ParseInt(words[1], 10, 32)
		if err != nil {
			return nil, fmt.Errorf("part %q: %q is not a number of alike parts", text, words[1])
		}
		part.Count = int32(n)
	}
	if len(words) < 3 {
		return part, nil
	}
	for i, side := range strings.SplitN(words[2], "x", 3) {
		q, err := quantity(side)
		if err != nil {
			return nil, fmt.Errorf("part %q: %w", text, err)
		}
		switch i {
		case 0:
			part.Length = q
		case 1:
			part.Width = q
		case 2:
			part.Thickness = q
		}
	}
	return part, nil
}

type listPiecesCmd struct{ output }

func (c *listPiecesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		pieces, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*intakev1.Piece, string, error) {
			r, err := shop.Intake.ListPieces(ctx, &intakev1.ListPiecesRequest{PageSize: 1000, PageToken: token})
			return r.GetPieces(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &intakev1.ListPiecesResponse{Pieces: pieces}, func() error {
			t := &report.Table{Headings: []string{" tag", "piece", "kind", "from", "state"}}
			for _, p := range pieces {
				t.Add(fmt.Sprint(p.Tag), p.Title, p.Kind, originOf(p), report.State(p.State.String()))
			}
			return t.Print(e.out)
		})
	})
}

func originOf(p *intakev1.Piece) string {
	if c := p.GetCommission(); c != nil {
		return "commission of " + c.Client
	}
	return p.GetPurchase().GetSource() + ", " + report.Money(p.GetPurchase().GetPrice())
}

type showPieceCmd struct {
	output
	Piece string `arg:"" help:"Tag number."`
}

func (c *showPieceCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		return c.print(e, p, func() error {
			fmt.Fprintf(e.out, "%d  %s (%s), %s, %s, in since %s\n\n", p.Tag, p.Title, p.Kind, originOf(p), report.State(p.State.String()), clock(p.TakenInTime))
			t := &report.Table{Headings: []string{"part", " count", " length", " width", " thickness"}}
			for _, part := range p.Parts {
				t.Add(part.Label, fmt.Sprint(part.Count), amountOf(part.Length), amountOf(part.Width), amountOf(part.Thickness))
			}
			return t.Print(e.out)
		})
	})
}

type scrapCmd struct {
	command
	Piece  string `arg:"" help:"Tag number."`
	Reason string `help:"Why it is given up." required:""`
}

func (c *scrapCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		at, err := c.at()
		if err != nil {
			return err
		}
		resp, err := shop.Intake.ScrapPiece(e.ctx, &intakev1.ScrapPieceRequest{RequestId: c.request(), Piece: p.Name, Reason: c.Reason, ScrapTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Piece %d is scrapped; what it cost is a loss.\n", p.Tag)
			return err
		})
	})
}
