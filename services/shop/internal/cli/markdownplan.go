package cli

import (
	"fmt"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type markdownGroup struct {
	Set  setMarkdownCmd  `cmd:"" help:"Say when less is asked, in place of the plan before."`
	Take takeMarkdownCmd `cmd:"" help:"Plan what sale advise says now; what it asks from today on is asked at once."`
	Drop dropMarkdownCmd `cmd:"" help:"End the plan; what is asked stays."`
	Show showMarkdownCmd `cmd:"" help:"Show the plan and what became of its steps."`
}

type setMarkdownCmd struct {
	command
	Piece string   `arg:"" help:"Tag number."`
	Steps []string `arg:"" name:"step" help:"From which day on what is asked, such as 2026-03-09=250 2026-04-06=220; each later and less." sep:"none"`
	Least string   `help:"No step may ask less." placeholder:"AMOUNT"`
}

func (c *setMarkdownCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		r := &salesv1.SetMarkdownPlanRequest{RequestId: c.request(), Piece: p.Name}
		if r.Steps, err = c.read(e, shop, r); err != nil {
			return err
		}
		resp, err := shop.Markdowns.SetMarkdownPlan(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printMarkdown(e, shop, p, resp.Plan) })
	})
}

// read reads the steps, and the least price into the request.
func (c *setMarkdownCmd) read(e *env, shop *client.Shop, r *salesv1.SetMarkdownPlanRequest) (steps []*salesv1.MarkdownPlan_Step, err error) {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return nil, err
	}
	for _, text := range c.Steps {
		day, price, err := pair(text, "2026-03-09=250")
		if err != nil {
			return nil, err
		}
		step := &salesv1.MarkdownPlan_Step{}
		if step.Date, err = client.Day(day); err != nil {
			return nil, err
		}
		if step.AskingPrice, err = terms.Amount(price); err != nil {
			return nil, err
		}
		steps = append(steps, step)
	}
	return steps, amounts(terms, typedAmount{c.Least, &r.LeastPrice})
}

type takeMarkdownCmd struct {
	command
	Piece string `arg:"" help:"Tag number."`
}

func (c *takeMarkdownCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Markdowns.TakeMarkdownAdvice(e.ctx, &salesv1.TakeMarkdownAdviceRequest{RequestId: c.request(), Piece: p.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "Now %s is asked.\n", report.Money(resp.Listing.GetAskingPrice()))
			return printMarkdown(e, shop, p, resp.Plan)
		})
	})
}

type dropMarkdownCmd struct {
	command
	Piece  string `arg:"" help:"Tag number."`
	Reason string `help:"Why."`
}

func (c *dropMarkdownCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Markdowns.DropMarkdownPlan(e.ctx, &salesv1.DropMarkdownPlanRequest{RequestId: c.request(), Piece: p.Name, Reason: c.Reason})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printMarkdown(e, shop, p, resp.Plan) })
	})
}

type showMarkdownCmd struct {
	listOutput
	Piece string `arg:"" help:"Tag number."`
}

func (c *showMarkdownCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Markdowns.GetMarkdownPlan(e.ctx, &salesv1.GetMarkdownPlanRequest{Piece: p.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printMarkdown(e, shop, p, resp.Plan) })
	})
}

func printMarkdown(e *env, shop *client.Shop, p *intakev1.Piece, plan *salesv1.MarkdownPlan) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(e.out, "The markdown plan of piece %d: %s.\n", p.Tag, report.State(plan.GetState().String()))
	t := &report.Table{Headings: []string{"from", " asking", "state", "when"}}
	for _, step := range plan.GetSteps() {
		t.Add(client.WriteDay(step.Date), report.Money(step.AskingPrice), report.State(step.State.String()), terms.Clock(step.DoneTime))
	}
	return t.Print(e.out)
}
