package cli

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type wipCmd struct {
	tabular
	Show string `help:"Only what is unfinished or what is finished." enum:",unfinished,finished" default:"" placeholder:"WHICH"`
}

var wipShows = map[string]costingv1.ListWorkInProcessRequest_Show{
	"unfinished": costingv1.ListWorkInProcessRequest_SHOW_UNFINISHED, "finished": costingv1.ListWorkInProcessRequest_SHOW_FINISHED,
}

func (c *wipCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		all := &costingv1.ListWorkInProcessResponse{}
		pieces, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.PieceInHand, string, error) {
			r, err := shop.Answers.ListWorkInProcess(ctx, &costingv1.ListWorkInProcessRequest{Show: wipShows[c.Show], PageSize: 1000, PageToken: token})
			all.Total, all.Accounts, all.Unfinished, all.Finished = r.GetTotal(), r.GetAccounts(), r.GetUnfinished(), r.GetFinished()
			return r.GetPieces(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		all.Pieces = pieces
		return c.print(e, all, func() error { return report.InHandCSV(e.out, pieces) }, func() error {
			terms, err := shop.Terms(e.ctx)
			if err != nil {
				return err
			}
			return report.InHand(e.out, pieces, all, terms.Zone, terms.Currency)
		})
	})
}

type cashCmd struct {
	tabular
	Pieces int32 `help:"How many of the pieces that hold most are shown." default:"5"`
}

func (c *cashCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Answers.GetCashTiedUp(e.ctx, &costingv1.GetCashTiedUpRequest{Pieces: c.Pieces})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return report.TiedUpCSV(e.out, resp) }, func() error {
			terms, err := shop.Terms(e.ctx)
			if err != nil {
				return err
			}
			return report.TiedUp(e.out, resp, terms.Zone)
		})
	})
}

type whatIfCmd struct {
	tabular
	Piece      string        `arg:"" help:"Tag number."`
	Price      string        `help:"What it would sell for, without tax." required:"" placeholder:"AMOUNT"`
	FeePercent string        `help:"What the channel keeps of the price, such as 12.5; say this or --fee." placeholder:"PERCENT"`
	Fee        string        `help:"What the channel keeps at any price; say this or --fee-percent." placeholder:"AMOUNT"`
	Hours      time.Duration `help:"Hands that are still to come, such as 1h30m; they cost the standard rate." placeholder:"TIME"`
	Material   string        `help:"Material that is still to come." placeholder:"AMOUNT"`
	Target     string        `help:"What an hour on it is to earn." placeholder:"AMOUNT"`
}

func (c *whatIfCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &costingv1.PriceWhatIfRequest{Piece: p.Name, FeePercent: c.FeePercent}
		if c.Hours != 0 {
			r.TimeToCome = durationpb.New(c.Hours)
		}
		if r.Price, err = terms.Amount(c.Price); err != nil {
			return err
		}
		if r.Fee, err = terms.Amount(c.Fee); err != nil {
			return err
		}
		if r.MaterialToCome, err = terms.Amount(c.Material); err != nil {
			return err
		}
		if r.TargetPerHour, err = terms.Amount(c.Target); err != nil {
			return err
		}
		resp, err := shop.Answers.PriceWhatIf(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return report.WhatIfCSV(e.out, p.Tag, resp) }, func() error { return report.WhatIf(e.out, resp) })
	})
}
