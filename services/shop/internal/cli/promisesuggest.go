package cli

import (
	"errors"
	"fmt"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type promiseGroup struct {
	Suggest suggestPromiseCmd `cmd:"" help:"Say by when something that comes in, or a piece that is here, could be promised; changes nothing. piece promise then does it."`
}

type suggestPromiseCmd struct {
	listOutput
	Route  string `help:"Something comes in now that takes this route." placeholder:"ROUTE"`
	Piece  string `help:"Tag number of a piece on which something is left to do." placeholder:"TAG"`
	Chance int    `help:"How sure it should be, of a hundred cases." default:"80" placeholder:"PERCENT"`
}

// Validate refuses what nobody could answer.
func (c *suggestPromiseCmd) Validate() error {
	if (c.Route == "") == (c.Piece == "") {
		return errors.New("say --route of something that comes in, or --piece of one that is here")
	}
	if c.Chance < 1 || c.Chance > 99 {
		return fmt.Errorf("--chance is from 1 to 99 of a hundred, not %d", c.Chance)
	}
	return c.listOutput.Validate()
}

// Run is called by kong.
func (c *suggestPromiseCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.SuggestPromiseDateRequest{Chance: float64(c.Chance) / 100}
		if c.Route != "" {
			r.Route = "routes/" + strings.TrimPrefix(c.Route, "routes/")
		} else {
			p, err := shop.Piece(e.ctx, c.Piece)
			if err != nil {
				return err
			}
			r.Piece = p.Name
		}
		resp, err := shop.Planning.SuggestPromiseDate(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printSuggested(e, shop, resp) })
	})
}

// printSuggested prints both ways to promise, what each does to others, and the gentle way at other chances.
func printSuggested(e *env, shop *client.Shop, r *workflowv1.SuggestPromiseDateResponse) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	hurried := hurriedSooner(r)
	t := &report.Table{Headings: []string{"", "promise by", " chance", "done by the plan", " other pieces change"}}
	for _, o := range []struct {
		how string
		*workflowv1.SuggestPromiseDateResponse_Option
	}{{"gently: others as without it", r.Gentle}, {"hurried: it goes first", hurried}} {
		if o.SuggestPromiseDateResponse_Option == nil {
			continue
		}
		t.Add(o.how, clockOrDash(terms, o.GetPromiseTime()), likely(o.GetChance()), clockOrDash(terms, o.GetEndTime()), fmt.Sprint(len(o.GetChanges())))
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	fmt.Fprintln(e.out)
	steps := &report.Table{Headings: []string{" chance", "gently, by"}}
	for i, s := range r.Steps {
		if i > 0 && s.PromiseTime.AsTime().Equal(r.Steps[i-1].PromiseTime.AsTime()) {
			continue // the same day is as sure as was asked before, and surer
		}
		steps.Add(likely(s.Chance), clockOrDash(terms, s.PromiseTime))
	}
	if err := steps.Print(e.out); err != nil || len(hurried.GetChanges()) == 0 {
		return err
	}
	fmt.Fprint(e.out, "\nHurried, of other pieces:\n")
	return printChanges(e, shop, hurried.Changes)
}

// hurriedSooner is the hurried way, where it can be promised earlier than the gentle one; nil: it cannot.
func hurriedSooner(r *workflowv1.SuggestPromiseDateResponse) *workflowv1.SuggestPromiseDateResponse_Option {
	gentle, hurried := r.GetGentle().GetPromiseTime(), r.GetHurried().GetPromiseTime()
	if gentle != nil && hurried != nil && !hurried.AsTime().Before(gentle.AsTime()) {
		return nil
	}
	return r.Hurried
}
