package cli

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
)

type pieceCmd struct {
	TakeIn     takeInCmd     `cmd:"" help:"Take a piece in: bought with --price and --source, or a client's with --client."`
	TakeInLot  takeInLotCmd  `cmd:"" help:"Take several pieces in that were bought together at one price."`
	Lot        lotCmd        `cmd:"" help:"What was bought together at one price, and how that is split."`
	FixPrice   fixPriceCmd   `cmd:"" help:"Say what a piece really cost, or with --lot the lot that it is of; also after it was sold."`
	List       listPiecesCmd `cmd:"" help:"List the pieces."`
	Show       showPieceCmd  `cmd:"" help:"Show a piece and its parts."`
	Assess     assessCmd     `cmd:"" help:"Say what a part is made of, what lies on it and what is wrong with it."`
	Assessment assessmentCmd `cmd:"" help:"Show what was seen of each part, how much of veneer may be sanded off, and what was tested."`
	Promise    promiseCmd    `cmd:"" help:"Say until when a piece is promised and what it is worth: what waits for it."`
	Scrap      scrapCmd      `cmd:"" help:"Give a piece up."`
}

type takeInCmd struct {
	timed
	Title  string   `arg:"" help:"What it is, in a few words."`
	Kind   string   `help:"dresser, table, chair …" required:""`
	Price  string   `help:"What it was bought for." xor:"price" placeholder:"AMOUNT"`
	Source string   `help:"Where it was bought." xor:"source"`
	Date   string   `help:"The day it was bought; without it, the day it came in." xor:"date" placeholder:"DAY"`
	Client string   `help:"Whose piece it is: a name, or the number of somebody in the list of clients." xor:"price,source,date"`
	Part   []string `help:"A part: LABEL, or LABEL:COUNT, or LABEL:COUNT:LENGTHxWIDTH[xTHICKNESS] such as drawer:3:16inx7in. Repeat for each, at least one." placeholder:"PART" sep:"none"`
	Tag    int32    `help:"The number on its tag; without it, the next free one." placeholder:"NUMBER"`

	Size      string `help:"How large it is: one person carries a small one, two a medium one. What such pieces sell for is learned by it." enum:",small,medium,large" default:"" placeholder:"small|medium|large"`
	Condition string `help:"How it came: sound, worn on its surface, or damaged. What such pieces sell for is learned by it." enum:",sound,worn,damaged" default:"" placeholder:"sound|worn|damaged"`
}

// sizesByWord and conditionsByWord say nothing of what is in none of them.
var sizesByWord = map[string]typev1.PieceSize{
	"small": typev1.PieceSize_PIECE_SIZE_SMALL, "medium": typev1.PieceSize_PIECE_SIZE_MEDIUM, "large": typev1.PieceSize_PIECE_SIZE_LARGE,
}

var conditionsByWord = map[string]typev1.PieceCondition{
	"sound": typev1.PieceCondition_PIECE_CONDITION_SOUND, "worn": typev1.PieceCondition_PIECE_CONDITION_WORN, "damaged": typev1.PieceCondition_PIECE_CONDITION_DAMAGED,
}

func (c *takeInCmd) Run(e *env) error {
	r := &intakev1.TakeInPieceRequest{RequestId: c.request(), Title: c.Title, Kind: c.Kind, Tag: c.Tag, Size: sizesByWord[c.Size], Condition: conditionsByWord[c.Condition]}
	if len(c.Part) == 0 {
		return errors.New("say at least one --part; --part whole for a piece that is treated as one")
	}
	for _, text := range c.Part {
		part, err := readPart(text)
		if err != nil {
			return err
		}
		r.Parts = append(r.Parts, part)
	}
	if c.Client == "" && (c.Price == "" || c.Source == "") {
		return errors.New("say what it was bought for (--price and --source), or whose it is (--client)")
	}
	return e.with(func(shop *client.Shop) (err error) {
		if r.TakenInTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		if err := c.origin(e.ctx, shop, r); err != nil {
			return err
		}
		resp, err := shop.Intake.TakeInPiece(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.TakenInTime)
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Piece %d is taken in: %s.\n", resp.Piece.Tag, resp.Piece.Title)
			return err
		})
	})
}

func (c *takeInCmd) origin(ctx context.Context, shop *client.Shop, r *intakev1.TakeInPieceRequest) error {
	if c.Client != "" {
		theirs, err := commissionOf(ctx, shop, c.Client)
		r.Origin = &intakev1.TakeInPieceRequest_Commission{Commission: theirs}
		return err
	}
	terms, err := shop.Terms(ctx)
	if err != nil {
		return err
	}
	bought := &intakev1.Purchase{Source: c.Source}
	if bought.Price, err = terms.Amount(c.Price); err != nil {
		return err
	}
	if bought.Date, err = client.Day(c.Date); err != nil {
		return err
	}
	r.Origin = &intakev1.TakeInPieceRequest_Purchase{Purchase: bought}
	return nil
}

// commissionOf says whose a piece is: by the number of a client, or by a name that the shop keeps nothing of.
func commissionOf(ctx context.Context, shop *client.Shop, whose string) (*intakev1.Commission, error) {
	if _, err := strconv.Atoi(strings.TrimSpace(whose)); err != nil {
		return &intakev1.Commission{Client: whose}, nil
	}
	c, err := shop.Client(ctx, whose)
	return &intakev1.Commission{Client: c.GetDetails().GetDisplayName(), ClientRecord: c.GetName()}, err
}

// readPart reads LABEL[:COUNT[:LENGTHxWIDTH[xTHICKNESS]]].
func readPart(text string) (*intakev1.Part, error) {
	words := strings.SplitN(text, ":", 3)
	part := &intakev1.Part{Label: words[0]}
	if len(words) > 1 {
		n, err := strconv.ParseInt(words[1], 10, 32)
		if err != nil || n < 1 {
			return nil, fmt.Errorf("part %q: %q is not a number of alike parts, 1 or more", text, words[1])
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

type scrapCmd struct {
	timed
	Piece  string `arg:"" help:"Tag number."`
	Reason string `help:"Why it is given up." required:""`
}

func (c *scrapCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Intake.ScrapPiece(e.ctx, &intakev1.ScrapPieceRequest{RequestId: c.request(), Piece: p.Name, Reason: c.Reason, ScrapTime: at})
		if err != nil {
			return err
		}
		err = c.print(e, resp, func() error {
			lost, err := lostWith(e, shop, p)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(e.out, "Piece %d is scrapped; %s.\n", p.Tag, lost)
			return err
		})
		noteClosed(e, shop, at)
		return err
	})
}

// lostWith says what is lost with a piece that is given up.
func lostWith(e *env, shop *client.Shop, p *intakev1.Piece) (string, error) {
	lost := "what it cost is a loss"
	if p.GetPurchase().GetLot() == "" {
		return lost, nil
	}
	l, err := shop.PieceLot(e.ctx, p.Name)
	if l.GetOnScrap() == intakev1.Lot_ON_SCRAP_TAKES_OVER {
		lost += ", but for its share of the lot's price, which those of the lot that are still there take over"
	}
	return lost, err
}
