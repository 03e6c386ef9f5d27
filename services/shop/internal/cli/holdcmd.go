package cli

import (
	"context"
	"fmt"
	"strings"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type holdGroup struct {
	Add     holdCmd        `cmd:"" help:"Keep a listed piece for a buyer, with a deposit or without."`
	Extend  extendHoldCmd  `cmd:"" help:"Keep it until another time."`
	Release releaseHoldCmd `cmd:"" help:"Keep it no longer; what becomes of the deposit is as was agreed, or as is said."`
	List    listHoldsCmd   `cmd:"" help:"Show what is kept for whom until when, the newest first."`
}

// depositFlags are a deposit that is taken with a hold.
type depositFlags struct {
	Deposit string `help:"What the buyer gives now." placeholder:"AMOUNT"`
	PaidBy  string `help:"How: cash, card, transfer, check or other." default:"cash" placeholder:"HOW"`
	Lapse   string `help:"What becomes of a deposit if the buyer does not come in time: given-back or kept." placeholder:"RULE"`
}

func (f depositFlags) read(ctx context.Context, shop *client.Shop) (d *salesv1.DepositGiven, rule salesv1.LapseRule, err error) {
	if rule, err = readLapse("--lapse", f.Lapse); err != nil || f.Deposit == "" {
		return nil, rule, err
	}
	d, err = readDeposit(ctx, shop, f.Deposit, f.PaidBy)
	return d, rule, err
}

// readLapse reads what becomes of a deposit; empty stays unsaid.
func readLapse(flag, word string) (rule salesv1.LapseRule, err error) {
	if word == "" {
		return rule, nil
	}
	if rule, err = readEnum[salesv1.LapseRule]("LAPSE_RULE_", word, salesv1.LapseRule_value); err != nil {
		return rule, fmt.Errorf("%s: %w", flag, err)
	}
	return rule, nil
}

func readDeposit(ctx context.Context, shop *client.Shop, amount, by string) (*salesv1.DepositGiven, error) {
	terms, err := shop.Terms(ctx)
	if err != nil {
		return nil, err
	}
	d := &salesv1.DepositGiven{}
	if d.Amount, err = terms.Amount(amount); err != nil {
		return nil, err
	}
	if d.Method, err = readEnum[salesv1.DepositMethod]("DEPOSIT_METHOD_", by, salesv1.DepositMethod_value); err != nil {
		return nil, fmt.Errorf("--paid-by: %w", err)
	}
	return d, nil
}

type holdCmd struct {
	command
	depositFlags
	Piece string `arg:"" help:"Tag number."`
	Buyer string `arg:"" help:"For whom."`
	Until string `help:"Until when: a time; a day alone: until the shop closes on it; or from now on, as 3d or 48h." required:"" placeholder:"TIME"`
	Price string `help:"What was agreed, without tax." placeholder:"AMOUNT"`
}

func (c *holdCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &salesv1.HoldPieceRequest{RequestId: c.request(), Piece: p.Name, Buyer: c.Buyer}
		if r.UntilTime, err = c.until(e, shop, c.Until); err != nil {
			return err
		}
		if r.Price, err = terms.Amount(c.Price); err != nil {
			return err
		}
		if r.Deposit, r.LapseRule, err = c.read(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Holds.HoldPiece(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printHolds(e, shop, []*salesv1.Hold{resp.Hold}) })
	})
}

// hold finds the hold that is meant.
func (w which) hold(e *env, shop *client.Shop, c *command) (string, error) {
	holds, err := holdsOf(e.ctx, shop, w.Piece, salesv1.Hold_STATE_OPEN)
	if err != nil {
		return "", err
	}
	var open []string
	for _, h := range holds {
		open = append(open, h.Name)
	}
	return w.open(c, "holds", open)
}

func holdsOf(ctx context.Context, shop *client.Shop, tag string, state salesv1.Hold_State) ([]*salesv1.Hold, error) {
	piece, err := pieceOrAll(ctx, shop, tag)
	if err != nil {
		return nil, err
	}
	return client.All(ctx, func(ctx context.Context, token string) ([]*salesv1.Hold, string, error) {
		r, err := shop.Holds.ListHolds(ctx, &salesv1.ListHoldsRequest{Piece: piece, State: state, PageToken: token})
		return r.GetHolds(), r.GetNextPageToken(), err
	})
}

// pieceOrAll is the name of the piece with a tag; no tag is no name.
func pieceOrAll(ctx context.Context, shop *client.Shop, tag string) (string, error) {
	if tag == "" {
		return "", nil
	}
	p, err := shop.Piece(ctx, tag)
	return p.GetName(), err
}

type extendHoldCmd struct {
	command
	which
	Until string `help:"Until when: a time; a day alone: until the shop closes on it; or from now on, as 3d or 48h." required:"" placeholder:"TIME"`
}

func (c *extendHoldCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		hold, err := c.hold(e, shop, &c.command)
		if err != nil {
			return err
		}
		r := &salesv1.ExtendHoldRequest{RequestId: c.request(), Hold: hold}
		if r.UntilTime, err = c.until(e, shop, c.Until); err != nil {
			return err
		}
		resp, err := shop.Holds.ExtendHold(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printHolds(e, shop, []*salesv1.Hold{resp.Hold}) })
	})
}

type releaseHoldCmd struct {
	command
	which
	Reason  string `help:"Why." required:""`
	Deposit string `help:"What becomes of the deposit: given-back or kept. Without it, as was agreed." placeholder:"RULE"`
}

func (c *releaseHoldCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		rule, err := readLapse("--deposit", c.Deposit)
		if err != nil {
			return err
		}
		hold, err := c.hold(e, shop, &c.command)
		if err != nil {
			return err
		}
		resp, err := shop.Holds.ReleaseHold(e.ctx, &salesv1.ReleaseHoldRequest{RequestId: c.request(), Hold: hold, Reason: c.Reason, Deposit: rule})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printHolds(e, shop, []*salesv1.Hold{resp.Hold}) })
	})
}

type listHoldsCmd struct {
	listOutput
	Piece string `arg:"" optional:"" help:"Tag number; without it, of all pieces."`
	State string `help:"Only these: open, released, lapsed or sold." placeholder:"STATE"`
}

func (c *listHoldsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		state, err := readState[salesv1.Hold_State](c.State, salesv1.Hold_State_value)
		if err != nil {
			return err
		}
		holds, err := holdsOf(e.ctx, shop, c.Piece, state)
		if err != nil {
			return err
		}
		return c.print(e, &salesv1.ListHoldsResponse{Holds: holds}, func() error { return printHolds(e, shop, holds) })
	})
}

// readState reads what --state says; empty is any.
func readState[E ~int32](word string, values map[string]int32) (state E, err error) {
	if word == "" {
		return state, nil
	}
	if state, err = readEnum[E]("STATE_", word, values); err != nil {
		return state, fmt.Errorf("--state: %w", err)
	}
	return state, nil
}

func printHolds(e *env, shop *client.Shop, holds []*salesv1.Hold) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" tag", "for", "until", " price", "deposit", "state", "id"}}
	for _, h := range holds {
		t.Add(fmt.Sprint(h.Tag), h.Buyer, terms.Clock(h.UntilTime), report.Money(h.Price), depositWords(h), report.State(h.State.String()), bare(h.Name))
	}
	return t.Print(e.out)
}

// depositWords says what was given on a hold, and what became of it or will.
func depositWords(h *salesv1.Hold) string {
	var words []string
	for _, d := range h.GetDeposits() {
		said := report.Money(d.Amount) + " " + report.State(d.State.String())
		if d.State == salesv1.Deposit_STATE_HELD && h.LapseRule != salesv1.LapseRule_LAPSE_RULE_UNSPECIFIED {
			said += ", else " + strings.ReplaceAll(enumWord("LAPSE_RULE_", h.LapseRule.String()), "-", " ")
		}
		words = append(words, said)
	}
	return orDash(strings.Join(words, "; "))
}
