package cli

import (
	"errors"
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type promiseCmd struct {
	command
	Piece string `arg:"" help:"Tag number."`
	By    string `help:"Until when it is promised, as --at says times elsewhere, or a day alone: until the shop closes on it. Without it, as before." placeholder:"TIME"`
	Value string `help:"What it is worth when it is done; without it, as before." placeholder:"AMOUNT"`
	None  bool   `help:"It is promised to nobody, and nobody knows what it is worth."`
}

func (c *promiseCmd) Run(e *env) error {
	if (c.By == "" && c.Value == "") != c.None {
		return errors.New("say --by or --value or both, or else --none")
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &workflowv1.PromisePieceRequest{RequestId: c.request(), Piece: p.Name, KeepUnsaid: !c.None}
		if r.PromiseTime, err = shop.Until(e.ctx, c.By); err != nil {
			return err
		}
		if r.Value, err = terms.Amount(c.Value); err != nil {
			return err
		}
		resp, err := shop.Stages.PromisePiece(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Piece %d: promised for %s, worth %s.\n", p.Tag, terms.Clock(resp.PromiseTime), report.Money(resp.Value))
			return err
		})
	})
}
