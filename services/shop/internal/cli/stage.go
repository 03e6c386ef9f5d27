package cli

import (
	"context"
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type stageCmd struct {
	Plan     planCmd       `cmd:"" help:"Lay out a piece's stages from a route."`
	List     listStagesCmd `cmd:"" help:"List a piece's stages in the order of the work."`
	Assign   assignCmd     `cmd:"" help:"Give a stage to somebody, or with --nobody take it back."`
	Finish   finishCmd     `cmd:"" help:"Finish a stage."`
	SendBack sendBackCmd   `cmd:"" help:"Open a finished stage again, and what was built on it: rework."`
}

type planCmd struct {
	command
	Piece string            `arg:"" help:"Tag number."`
	Route string            `help:"The route of every part not named with --part."`
	Part  map[string]string `help:"A part by label and its own route; repeat for each." placeholder:"LABEL=ROUTE"`
}

func (c *planCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		r := &workflowv1.PlanStagesRequest{RequestId: c.request(), Piece: p.Name, Route: routeName(c.Route)}
		if r.PlanTime, err = c.at(); err != nil {
			return err
		}
		for label, route := range c.Part {
			name, err := partName(p, label)
			if err != nil {
				return err
			}
			r.Parts = append(r.Parts, &workflowv1.PlanStagesRequest_PartRoute{Part: name, Route: routeName(route)})
		}
		resp, err := shop.Stages.PlanStages(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStages(e, resp.Stages) })
	})
}

func routeName(word string) string {
	if word == "" {
		return ""
	}
	return "routes/" + strings.TrimPrefix(word, "routes/")
}

func partName(p *intakev1.Piece, label string) (string, error) {
	var known []string
	for _, part := range p.Parts {
		if strings.EqualFold(part.Label, label) {
			return part.Name, nil
		}
		known = append(known, part.Label)
	}
	return "", fmt.Errorf("piece %d has no part %q; it has: %s", p.Tag, label, strings.Join(known, ", "))
}

type listStagesCmd struct {
	output
	Piece string `arg:"" help:"Tag number."`
}

func (c *listStagesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Stages.ListStages(e.ctx, &workflowv1.ListStagesRequest{Piece: p.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStages(e, resp.Stages) })
	})
}

func printStages(e *env, stages []*workflowv1.Stage) error {
	t := &report.Table{Headings: []string{"stage", "kind", "state", "whose", " pass", "skill", " minutes"}}
	for _, s := range stages {
		state := report.State(s.State.String())
		if s.ReadyTime != nil {
			state += " until " + clock(s.ReadyTime)
		}
		t.Add(client.Title(s), s.Kind, state, s.AssigneeName, fmt.Sprint(s.Pass), s.Skill, fmt.Sprint(s.AttendedMinutes))
	}
	return t.Print(e.out)
}

// stageArgs name a stage.
type stageArgs struct {
	Piece string `arg:"" help:"Tag number."`
	Stage string `arg:"" help:"Title, such as 'sand (top)', or the key where only one stage has it."`
}

func (a stageArgs) find(ctx context.Context, shop *client.Shop) (*workflowv1.Stage, error) {
	p, err := shop.Piece(ctx, a.Piece)
	if err != nil {
		return nil, err
	}
	return shop.Stage(ctx, p, a.Stage)
}

type assignCmd struct {
	command
	stageArgs
	Who    string `arg:"" optional:"" help:"Display name."`
	Nobody bool   `help:"Take the stage back from whoever has it."`
}

func (c *assignCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.AssignStageRequest{RequestId: c.request(), Stage: stage.Name}
		if r.AssignTime, err = c.at(); err != nil {
			return err
		}
		if !c.Nobody {
			who, err := shop.Person(e.ctx, c.Who)
			if err != nil {
				return err
			}
			r.Person = who.Name
		}
		resp, err := shop.Stages.AssignStage(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStages(e, []*workflowv1.Stage{resp.Stage}) })
	})
}

type finishCmd struct {
	command
	stageArgs
}

func (c *finishCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		at, err := c.at()
		if err != nil {
			return err
		}
		resp, err := shop.Stages.FinishStage(e.ctx, &workflowv1.FinishStageRequest{RequestId: c.request(), Stage: stage.Name, FinishTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStages(e, []*workflowv1.Stage{resp.Stage}) })
	})
}

type sendBackCmd struct {
	command
	stageArgs
	Reason string `help:"What is wrong." required:""`
}

func (c *sendBackCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		at, err := c.at()
		if err != nil {
			return err
		}
		resp, err := shop.Stages.SendBackStage(e.ctx, &workflowv1.SendBackStageRequest{
			RequestId: c.request(), Stage: stage.Name, Reason: c.Reason, SendBackTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStages(e, resp.Stages) })
	})
}
