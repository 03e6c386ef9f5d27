package cli

import (
	"context"
	"errors"
	"fmt"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type verifyCmd struct{ output }

func (c *verifyCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Books.Verify(e.ctx, &costingv1.VerifyRequest{})
		if err != nil {
			return err
		}
		return errors.Join(c.print(e, resp, func() error {
			for _, d := range resp.Differences {
				fmt.Fprintln(e.out, d)
			}
			_, err := fmt.Fprintf(e.out, "%d events recomputed, %d ledger lines compared, %d differences.\n", resp.Events, resp.LedgerLines, resp.DifferenceCount)
			return err
		}), differ(resp))
	})
}

// differ is the error that the books are wrong; what differs is told beside it.
func differ(r *costingv1.VerifyResponse) error {
	if r.Clean {
		return nil
	}
	return fmt.Errorf("the books differ from what happened in %d places", r.DifferenceCount)
}

type rebuildCmd struct{ output }

func (c *rebuildCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Books.Rebuild(e.ctx, &costingv1.RebuildRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "%d events make %d ledger lines; the books before differed in %d places.\n", resp.Events, resp.LedgerLines, resp.DifferenceCount)
			return err
		})
	})
}

type deadCmd struct{ output }

func (c *deadCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		letters, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.DeadLetter, string, error) {
			r, err := shop.Books.ListDeadLetters(ctx, &costingv1.ListDeadLettersRequest{PageSize: 1000, PageToken: token})
			return r.GetDeadLetters(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &costingv1.ListDeadLettersResponse{DeadLetters: letters}, func() error { return printLetters(e, shop, letters) })
	})
}

func printLetters(e *env, shop *client.Shop, letters []*costingv1.DeadLetter) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"letter", "since", "from", " tries", "why"}}
	for _, l := range letters {
		t.Add(bare(l.Name), terms.Clock(l.FirstTime), l.Producer, fmt.Sprint(l.Tries), report.Clip(l.Error, 100))
	}
	return t.Print(e.out)
}

type retryCmd struct {
	command
	Letter string `arg:"" help:"The letter's id, as the list shows it."`
}

func (c *retryCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Books.RetryDeadLetter(e.ctx, &costingv1.RetryDeadLetterRequest{
			RequestId: c.request(), Name: "deadLetters/" + bare(c.Letter)})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintln(e.out, "It is booked.")
			return err
		})
	})
}

type progressCmd struct{ output }

func (c *progressCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Books.GetProgress(e.ctx, &costingv1.GetProgressRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printProgress(e, shop, resp) })
	})
}

func printProgress(e *env, shop *client.Shop, p *costingv1.GetProgressResponse) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(e.out, "%d events wait for an earlier one, %d could not be booked, %d things were behind when last compared at %s.\n",
		p.Parked, p.Dead, p.Behind, terms.Clock(p.CompareTime))
	if p.Trouble != "" {
		fmt.Fprintf(e.out, "The last comparison failed: %s\n", p.Trouble)
	}
	if p.Outdated {
		fmt.Fprintln(e.out, "The books were made by other rules than those of now and are being made anew; until then no week and no month can be closed.")
	}
	return nil
}
