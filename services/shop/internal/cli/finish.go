package cli

import (
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type finishCmd struct {
	timed
	stageArgs
	Zone     string      `help:"Where it now dries, by the zone's word; without it as planned." placeholder:"WORD"`
	WetFilm  *micrometre `help:"How thick the wet film was laid, such as 100um or 4mil; without it as planned." placeholder:"FILM"`
	Override string      `help:"Why it was done before the part was ready, where nobody clocked on." placeholder:"REASON"`
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
		r := &workflowv1.FinishStageRequest{RequestId: c.request(), Stage: stage.Name, FinishTime: at, Zone: zoneName(c.Zone), OverrideReason: c.Override}
		if c.WetFilm != nil {
			if r.WetFilmUm = float64(*c.WetFilm); r.WetFilmUm == 0 {
				return errNoFilm
			}
		}
		resp, err := shop.Stages.FinishStage(e.ctx, r)
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
