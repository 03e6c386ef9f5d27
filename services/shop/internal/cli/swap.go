package cli

import (
	"context"
	"errors"
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type swapCmd struct {
	Offer    offerSwapCmd    `cmd:"" help:"Ask somebody to take a stage, and perhaps to give one of theirs for it."`
	Answer   answerSwapCmd   `cmd:"" help:"Accept or decline an offer; accepted, the stages change hands all at once."`
	Withdraw withdrawSwapCmd `cmd:"" help:"Take an offer back."`
	List     listSwapsCmd    `cmd:"" help:"List offers to and from somebody: open ones, and those that ended in the last week."`
}

type offerSwapCmd struct {
	command
	stageArgs
	From     string `arg:"" help:"Display name of who has it."`
	To       string `arg:"" help:"Display name of who is asked."`
	For      string `help:"The stage that they would give for it, by its title; without it, none." placeholder:"STAGE"`
	ForPiece string `help:"With --for: tag number of the piece that is on; without it, the same." placeholder:"NUMBER"`
	Note     string `help:"What they should know."`
}

func (c *offerSwapCmd) Run(e *env) error {
	if c.ForPiece != "" && c.For == "" {
		return errors.New("--for-piece belongs to --for, which says the stage")
	}
	return e.with(func(shop *client.Shop) error {
		r, err := c.offer(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Swaps.OfferSwap(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			s := resp.Swap
			fmt.Fprintf(e.out, "%s is asked; the offer is %s. Until they accept, %s of piece %d stays with %s.\n", s.ToPersonName, bare(s.Name), s.Offered.GetTitle(), s.Offered.GetPieceTag(), s.PersonName)
			return nil
		})
	})
}

func (c *offerSwapCmd) offer(ctx context.Context, shop *client.Shop) (*workflowv1.OfferSwapRequest, error) {
	stage, err := c.find(ctx, shop)
	if err != nil {
		return nil, err
	}
	from, err := shop.Person(ctx, c.From)
	if err != nil {
		return nil, err
	}
	to, err := shop.Person(ctx, c.To)
	if err != nil {
		return nil, err
	}
	r := &workflowv1.OfferSwapRequest{RequestId: c.request(), Person: from.Name, Stage: stage.Name, ToPerson: to.Name, Note: c.Note}
	if c.For == "" {
		return r, nil
	}
	wanted := stageArgs{c.ForPiece, c.For}
	if wanted.Piece == "" {
		wanted.Piece = c.Piece
	}
	theirs, err := wanted.find(ctx, shop)
	r.ForStage = theirs.GetName()
	return r, err
}

// swapArgs are an offer, and who ends it.
type swapArgs struct {
	Swap string `arg:"" help:"Its id, as the list shows it."`
	Who  string `arg:"" help:"Display name of who says so."`
}

// find gives the resource names of both.
func (a swapArgs) find(ctx context.Context, shop *client.Shop) (swap, person string, err error) {
	who, err := shop.Person(ctx, a.Who)
	if err != nil {
		return "", "", err
	}
	swap, err = shop.Swap(ctx, who, a.Swap)
	return swap, who.Name, err
}

type answerSwapCmd struct {
	command
	swapArgs
	Accept  bool `help:"They take it." required:"" xor:"answer"`
	Decline bool `help:"They do not." required:"" xor:"answer"`
}

func (c *answerSwapCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		swap, person, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Swaps.AnswerSwap(e.ctx, &workflowv1.AnswerSwapRequest{RequestId: c.request(), Swap: swap, Person: person, Accept: c.Accept})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printSwaps(e, shop, []*workflowv1.Swap{resp.Swap}) })
	})
}

type withdrawSwapCmd struct {
	command
	swapArgs
}

func (c *withdrawSwapCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		swap, person, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Swaps.WithdrawSwap(e.ctx, &workflowv1.WithdrawSwapRequest{RequestId: c.request(), Swap: swap, Person: person})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printSwaps(e, shop, []*workflowv1.Swap{resp.Swap}) })
	})
}

type listSwapsCmd struct {
	listOutput
	Who string `arg:"" help:"Display name."`
}

func (c *listSwapsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		swaps, err := shop.SwapsOf(e.ctx, who)
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListSwapsResponse{Swaps: swaps}, func() error { return printSwaps(e, shop, swaps) })
	})
}

func printSwaps(e *env, shop *client.Shop, all []*workflowv1.Swap) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"offer", "of", "to", "what", "for", "note", "made", "state"}}
	for _, s := range all {
		state := enumWord("STATE_", s.State.String())
		if s.Text != "" {
			state += ": " + s.Text
		}
		t.Add(bare(s.Name), s.PersonName, s.ToPersonName, sideTitle(s.Offered), sideTitle(s.Wanted), s.Note, terms.Clock(s.OfferTime), state)
	}
	return t.Print(e.out)
}

// sideTitle names a stage of an offer with its piece; of none nothing.
func sideTitle(s *workflowv1.Swap_Side) string {
	if s == nil {
		return ""
	}
	return fmt.Sprintf("%d %s", s.PieceTag, s.Title)
}
