package cli

import (
	"errors"
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type proposePlanCmd struct {
	listOutput
	Budget  time.Duration `help:"How long to look, up to a minute." default:"10s"`
	Seed    uint32        `help:"Another number looks another way." default:"1"`
	Publish bool          `help:"Publish it at once, as floor-plan publish does; with --json that answer follows."`
	Until   string        `help:"With --publish, what begins by the end of that day is assigned; without it, by the end of tomorrow." placeholder:"DAY"`

	// What was proposed and may have been published, for the line that finds out.
	Proposal  string `hidden:"" help:"With --publish, publish this one and look for none." placeholder:"PROPOSAL"`
	RequestID string `hidden:"" help:"With --proposal, ask again under it." placeholder:"UUID"`

	publishes publishPlanCmd // by --publish
}

// Help is printed by --help.
func (*proposePlanCmd) Help() string {
	return "It changes nothing unless it is published. Hours count by what a piece is worth beside the usual one.\n\nFor example: shop floor-plan propose --budget 30s"
}

// Validate refuses what would not be heeded.
func (c *proposePlanCmd) Validate() error {
	switch {
	case c.Until != "" && !c.Publish:
		return errors.New("--until says what is published; say --publish too")
	case c.CSV && c.Publish:
		return errors.New("--csv has the plan and --publish another answer; publish by itself")
	}
	return c.listOutput.Validate()
}

// Run is called by kong.
func (c *proposePlanCmd) Run(e *env) error {
	if c.Budget <= 0 || c.Budget > time.Minute {
		return fault.New(fault.Invalid, "BUDGET_OUT_OF_RANGE", "A plan is looked for between a moment and a minute, not %s. Give another --budget.", c.Budget)
	}
	if _, err := client.Day(c.Until); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		if c.Publish && c.Proposal != "" {
			return c.publish(e, shop)
		}
		now, err := shop.Planning.GetFloorPlan(e.ctx, &workflowv1.GetFloorPlanRequest{})
		if err != nil {
			return err
		}
		found, err := c.look(e, shop)
		if err != nil {
			return err
		}
		if err := c.print(e, found, func() error { return c.printFound(e, shop, now.Plan.GetCost(), found) }); err != nil || !c.Publish {
			return err
		}
		c.Proposal = found.Proposal
		c.publishes.fixed.flags = []string{"--proposal", found.Proposal}
		return c.publish(e, shop)
	})
}

// publish publishes what was found.
func (c *proposePlanCmd) publish(e *env, shop *client.Shop) error {
	c.publishes.output, c.publishes.RequestID, c.publishes.Proposal, c.publishes.Until = c.output, c.RequestID, c.Proposal, c.Until
	return c.publishes.publish(e, shop)
}

// again implements changing: what may have been done is the publication, of that proposal and no other.
func (c *proposePlanCmd) again() again { return c.publishes.again() }

// look has the shop look for a plan, and shows how far it is.
func (c *proposePlanCmd) look(e *env, shop *client.Shop) (found *workflowv1.ProposePlanResponse, err error) {
	stream, err := shop.Planning.ProposePlan(e.ctx, &workflowv1.ProposePlanRequest{Budget: durationpb.New(c.Budget), Seed: c.Seed})
	if err != nil {
		return nil, err
	}
	const whole = 1000
	shown := e.progress("looking", whole, c.JSON || c.CSV)
	err = follow(stream, func(r *workflowv1.ProposePlanResponse) error {
		found = r
		shown.says(soFar(r))
		shown.at(int(whole * r.Progress))
		return nil
	})
	e.shown.end()
	switch {
	case err == nil && e.ctx.Err() != nil:
		return nil, e.ctx.Err()
	case err == nil && found.GetProposal() == "":
		return nil, fault.New(fault.Unavailable, "SEARCH_BROKEN_OFF", "The shop stopped looking before it was done. Look again.")
	}
	return found, err
}

// soFar is how good the best plan is that was found so far.
func soFar(r *workflowv1.ProposePlanResponse) string {
	return fmt.Sprintf("%d late, %.1f h (none below %.1f h)", r.Cost.GetLatePromises(), r.Cost.GetLateHours(), r.LeastLateHours)
}

// printFound prints what a proposal costs beside the plan as it is, what changes of pieces, and how to publish it.
func (c *proposePlanCmd) printFound(e *env, shop *client.Shop, now *workflowv1.PlanCost, r *workflowv1.ProposePlanResponse) error {
	hours := func(h float64) string { return fmt.Sprintf("%.1f", h) }
	count := func(n int32) string { return fmt.Sprint(n) }
	t := &report.Table{Headings: []string{"", " now", " proposed", " none below"}}
	t.Add("promises late", count(now.GetLatePromises()), count(r.Cost.GetLatePromises()), "")
	t.Add("hours late", hours(now.GetLateHours()), hours(r.Cost.GetLateHours()), hours(r.LeastLateHours))
	t.Add("hours waiting", hours(now.GetWaitingHours()), hours(r.Cost.GetWaitingHours()), hours(r.LeastWaitingHours))
	t.Add("moved, next two working days", count(now.GetMovedStages()), count(r.Cost.GetMovedStages()), "")
	t.Add("without a place", count(now.GetUnplacedStages()), count(r.Cost.GetUnplacedStages()), "")
	if err := t.Print(e.out); err != nil {
		return err
	}
	fmt.Fprintln(e.out, "Hours are weighed by what a piece is worth beside the usual one.")
	fmt.Fprintln(e.out)
	if err := printChanges(e, shop, r.Changes); err != nil {
		return err
	}
	if err := printMoves(e, shop, r.Plan, "Elsewhere than people know", "was published"); err != nil || c.Publish {
		return err
	}
	_, err := fmt.Fprintf(e.out, "Proposed as %s; `shop floor-plan publish %s` has people know it.\n", r.Proposal, bare(r.Proposal))
	return err
}
