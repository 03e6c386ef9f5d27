package cli

import (
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type finishCmd struct {
	timed
	stageArgs
}

func (c *finishCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Stages.FinishStage(e.ctx, &workflowv1.FinishStageRequest{RequestId: c.request(), Stage: stage.Name, FinishTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStages(e, shop, []*workflowv1.Stage{resp.Stage}) })
	})
}

type sendBackCmd struct {
	timed
	stageArgs
	Reason string `help:"What is wrong." required:""`
}

func (c *sendBackCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Stages.SendBackStage(e.ctx, &workflowv1.SendBackStageRequest{
			RequestId: c.request(), Stage: stage.Name, Reason: c.Reason, SendBackTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStages(e, shop, resp.Stages) })
	})
}
