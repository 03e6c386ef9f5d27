package cli

import (
	"context"
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type depositGroup struct {
	Take   takeDepositCmd   `cmd:"" help:"Take money before the sale: on a client's own piece, or on one that is held."`
	Return returnDepositCmd `cmd:"" help:"Give a deposit back, or a part of it."`
	Keep   keepDepositCmd   `cmd:"" help:"Keep a deposit, or a part of it, because whoever gave it stepped back."`
	List   listDepositsCmd  `cmd:"" help:"Show what was given before sales and what became of it, the newest first."`
}

type takeDepositCmd struct {
	timed
	Piece  string `arg:"" help:"Tag number."`
	Amount string `arg:"" help:"How much."`
	PaidBy string `help:"How: cash, card, transfer, check or other." default:"cash" placeholder:"HOW"`
	From   string `help:"From whom, if it is neither the client nor the one for whom the piece is held." placeholder:"NAME"`
	Lapse  string `help:"What becomes of it if the hold lapses: given-back or kept; where that was not agreed yet." placeholder:"RULE"`
}

func (c *takeDepositCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		r := &salesv1.TakeDepositRequest{RequestId: c.request(), Piece: p.Name, From: c.From}
		if r.LapseRule, err = readLapse("--lapse", c.Lapse); err != nil {
			return err
		}
		if r.Deposit, err = readDeposit(e.ctx, shop, c.Amount, c.PaidBy); err != nil {
			return err
		}
		if r.TakeTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Deposits.TakeDeposit(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printDeposits(e, shop, []*salesv1.Deposit{resp.Deposit}) })
	})
}

func depositsOf(ctx context.Context, shop *client.Shop, tag string, state salesv1.Deposit_State) ([]*salesv1.Deposit, error) {
	piece, err := pieceOrAll(ctx, shop, tag)
	if err != nil {
		return nil, err
	}
	return client.All(ctx, func(ctx context.Context, token string) ([]*salesv1.Deposit, string, error) {
		r, err := shop.Deposits.ListDeposits(ctx, &salesv1.ListDepositsRequest{Piece: piece, State: state, PageToken: token})
		return r.GetDeposits(), r.GetNextPageToken(), err
	})
}

// settle is a command that gives a deposit back or keeps it.
type settle struct {
	timed
	which
	Amount string `help:"How much; without it, all that is left of it." placeholder:"AMOUNT"`
}

// run finds the deposit that is meant, of those of which something is left, and gives the command.
func (c *settle) run(e *env, give func(shop *client.Shop, deposit string, part *moneyv1.Money, at *timestamppb.Timestamp) (*salesv1.Deposit, error)) error {
	return e.with(func(shop *client.Shop) error {
		all, err := depositsOf(e.ctx, shop, c.Piece, salesv1.Deposit_STATE_UNSPECIFIED)
		if err != nil {
			return err
		}
		var left []string
		for _, d := range all {
			if d.State == salesv1.Deposit_STATE_HELD || d.State == salesv1.Deposit_STATE_TO_RETURN {
				left = append(left, d.Name)
			}
		}
		deposit, err := c.open(&c.command, "deposits", left)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		part, err := terms.Amount(c.Amount)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		d, err := give(shop, deposit, part, at)
		if err != nil {
			return err
		}
		return c.print(e, d, func() error { return printDeposits(e, shop, []*salesv1.Deposit{d}) })
	})
}

type returnDepositCmd struct {
	settle
	Reason string `help:"Why."`
}

func (c *returnDepositCmd) Run(e *env) error {
	return c.run(e, func(shop *client.Shop, deposit string, part *moneyv1.Money, at *timestamppb.Timestamp) (*salesv1.Deposit, error) {
		r, err := shop.Deposits.ReturnDeposit(e.ctx, &salesv1.ReturnDepositRequest{RequestId: c.request(), Deposit: deposit, Amount: part, Reason: c.Reason, ReturnTime: at})
		return r.GetDeposit(), err
	})
}

type keepDepositCmd struct {
	settle
	Reason string `help:"Why it may be kept." required:""`
}

func (c *keepDepositCmd) Run(e *env) error {
	return c.run(e, func(shop *client.Shop, deposit string, part *moneyv1.Money, at *timestamppb.Timestamp) (*salesv1.Deposit, error) {
		r, err := shop.Deposits.KeepDeposit(e.ctx, &salesv1.KeepDepositRequest{RequestId: c.request(), Deposit: deposit, Amount: part, Reason: c.Reason, KeepTime: at})
		return r.GetDeposit(), err
	})
}

type listDepositsCmd struct {
	listOutput
	Piece string `arg:"" optional:"" help:"Tag number; without it, of all pieces."`
	State string `help:"Only these: held, to-return, used, returned or kept." placeholder:"STATE"`
}

func (c *listDepositsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		state, err := readState[salesv1.Deposit_State](c.State, salesv1.Deposit_State_value)
		if err != nil {
			return err
		}
		deposits, err := depositsOf(e.ctx, shop, c.Piece, state)
		if err != nil {
			return err
		}
		return c.print(e, &salesv1.ListDepositsResponse{Deposits: deposits}, func() error { return printDeposits(e, shop, deposits) })
	})
}

func printDeposits(e *env, shop *client.Shop, deposits []*salesv1.Deposit) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" tag", "from", " given", "by", "when", " used", " back", " kept", " left", "state", "id"}}
	for _, d := range deposits {
		t.Add(fmt.Sprint(d.Tag), d.From, report.Money(d.Amount), enumWord("DEPOSIT_METHOD_", d.Method.String()), terms.Clock(d.TakeTime),
			report.Money(d.Used), report.Money(d.Returned), report.Money(d.Kept), report.Money(d.Left), report.State(d.State.String()), bare(d.Name))
	}
	return t.Print(e.out)
}
