package cli

import (
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type refuseCmd struct {
	command
	stageArgs
	Who    string `arg:"" help:"Display name of who has it and does not want it."`
	Reason string `help:"Why; may be left out."`
}

func (c *refuseCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		resp, err := shop.Swaps.RefuseStage(e.ctx, &workflowv1.RefuseStageRequest{RequestId: c.request(), Stage: stage.Name, Person: who.Name, Reason: c.Reason})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "%s of piece %s is taken from %s, and the plan does not give it to them until you do.\n", client.Title(stage), c.Piece, who.DisplayName)
			return nil
		})
	})
}
