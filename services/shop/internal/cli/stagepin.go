package cli

import (
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type pinCmd struct {
	command
	stageArgs
	To string `help:"Display name of who does it; without it, whoever can." placeholder:"NAME"`
	At string `help:"It begins no earlier: '2026-03-02 08:00' by the shop's clock; without it, as soon as it can." placeholder:"TIME"`
}

func (c *pinCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.PinStageRequest{RequestId: c.request(), Stage: stage.Name}
		if c.To != "" {
			who, err := shop.Person(e.ctx, c.To)
			if err != nil {
				return err
			}
			r.Person = who.Name
		}
		if r.StartTime, err = instant(e.ctx, shop, c.At); err != nil {
			return err
		}
		resp, err := shop.Planning.PinStage(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "The plan keeps %s of piece %s.", client.Title(stage), c.Piece)
			return printPlaced(e, shop, r)
		})
	})
}

// printPlaced says where the plan has a stage that was pinned, which is later than was asked where nobody can do it then.
func printPlaced(e *env, shop *client.Shop, r *workflowv1.PinStageRequest) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	now, err := shop.Planning.GetFloorPlan(e.ctx, &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		return err
	}
	for _, s := range now.GetPlan().GetStages() {
		if s.Stage != r.Stage {
			continue
		}
		fmt.Fprintf(e.out, " It is there: %s.\n", whoWhen(terms, s.PersonName, s.StartTime))
		if r.StartTime != nil && s.StartTime.AsTime().After(r.StartTime.AsTime()) {
			fmt.Fprintf(e.out, "That is later than %s: who does it is not there then, or has something else that cannot move, or it waits for what is below it.\n", terms.Clock(r.StartTime))
		}
		return nil
	}
	for _, u := range now.GetPlan().GetUnplaced() {
		if u.Stage == r.Stage {
			fmt.Fprintf(e.out, " It has no place: %s\n", u.Text)
			return nil
		}
	}
	fmt.Fprintln(e.out)
	return nil
}

type unpinCmd struct {
	command
	stageArgs
}

func (c *unpinCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Planning.UnpinStage(e.ctx, &workflowv1.UnpinStageRequest{RequestId: c.request(), Stage: stage.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "The plan puts %s of piece %s where it fits.\n", client.Title(stage), c.Piece)
			return nil
		})
	})
}
