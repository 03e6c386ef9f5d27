package cli

import (
	"fmt"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type publishPlanCmd struct {
	command
	Proposal string `arg:"" help:"The name that floor-plan propose gave it."`
	Until    string `help:"What begins by the end of that day is assigned; without it, by the end of tomorrow." placeholder:"DAY"`
}

// Run is called by kong.
func (c *publishPlanCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error { return c.publish(e, shop) })
}

func (c *publishPlanCmd) publish(e *env, shop *client.Shop) error {
	r := &workflowv1.PublishPlanRequest{RequestId: c.request(), Proposal: "proposals/" + strings.TrimPrefix(c.Proposal, "proposals/")}
	var err error
	if r.LastDate, err = client.Day(c.Until); err != nil {
		return err
	}
	resp, err := shop.Planning.PublishPlan(e.ctx, r)
	if err != nil {
		return err
	}
	return c.print(e, resp, func() error { return printPublished(e, resp) })
}

// printPublished prints what was assigned and freed, and what was left alone and why.
func printPublished(e *env, r *workflowv1.PublishPlanResponse) error {
	if _, err := fmt.Fprintf(e.out, "Published: %d assigned, %d freed, %d left alone.\n", r.AssignedStages, r.FreedStages, len(r.LeftAlone)); err != nil || len(r.LeftAlone) == 0 {
		return err
	}
	t := &report.Table{Headings: []string{" piece", "stage", "left alone, because"}}
	for _, l := range r.LeftAlone {
		t.Add(fmt.Sprint(l.PieceTag), l.Title, l.Text)
	}
	return t.Print(e.out)
}
