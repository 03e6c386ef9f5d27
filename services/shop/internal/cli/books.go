package cli

import (
	"cmp"
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
		shown := e.waiting("recomputing the books", c.JSON)
		resp, err := shop.Books.Verify(e.ctx, &costingv1.VerifyRequest{})
		shown.end()
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

// differ is the error that the books are wrong, or lack something; what differs is told beside it.
func differ(r *costingv1.VerifyResponse) error {
	if r.Clean {
		return nil
	}
	var wrong error
	if r.DifferenceCount > 0 {
		wrong = fmt.Errorf("the books differ from what happened in %d places", r.DifferenceCount)
	}
	return errors.Join(wrong, lack(r))
}

// lack is the error that something of what happened is in no books, and what to do about it.
func lack(r *costingv1.VerifyResponse) error {
	first := r.FirstUnbooked
	if first == nil {
		return nil
	}
	then := "the record of " + first.Producer + " has a hole; put its database back from a backup, and run `shop restored`"
	if r.RefusedCount > 0 {
		then = "see `shop cost dead`; upgrade costing if it is older than they are, or mend what is wrong, and book them by `shop cost retry`"
	}
	return fmt.Errorf("the books lack what happened: %d events could not be booked, %d wait for an earlier one; the first is event %s of %s (%s): %s. What to do: %s",
		r.RefusedCount, r.WaitingCount, first.EventId, first.Producer, cmp.Or(first.Aggregate, "nobody knows about what"), first.Reason, then)
}

type rebuildCmd struct{ output }

func (c *rebuildCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		shown := e.waiting("making the books anew", c.JSON)
		resp, err := shop.Books.Rebuild(e.ctx, &costingv1.RebuildRequest{})
		shown.end()
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "%d events make %d ledger lines; the books before differed in %d places.\n", resp.Events, resp.LedgerLines, resp.DifferenceCount)
			if err != nil || resp.JournalFromDate == nil {
				return err
			}
			_, err = fmt.Fprintf(e.out, "Entries of the journal are others now from %[1]s on: whoever took it before takes it anew with cost journal --from %[1]s.\n", client.WriteDay(resp.JournalFromDate))
			return err
		})
	})
}

type deadCmd struct{ listOutput }

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
		fmt.Fprintln(e.out, "The books were made by other rules than those of now and are being made anew; until then no week and no month can be closed. Where entries of the journal are others then, cost journal --after says so and from which day on.")
	}
	return nil
}
