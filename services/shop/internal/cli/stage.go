package cli

import (
	"context"
	"errors"
	"fmt"
	"slices"
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
	HandOver handOverCmd   `cmd:"" help:"Give a stage from one person to another in the middle of it."`
	Next     nextCmd       `cmd:"" help:"Say what somebody could do next, the best first."`
	Claim    claimCmd      `cmd:"" help:"Give somebody the stage that is best done next, or the one that is named."`
	Refuse   refuseCmd     `cmd:"" help:"Take a stage from somebody who does not want it; the plan does not give it to them again."`
	Pin      pinCmd        `cmd:"" help:"Have the floor's plan keep a stage with somebody, at a time, or both."`
	Unpin    unpinCmd      `cmd:"" help:"Let the floor's plan put a stage where it fits again."`
	Finish   finishCmd     `cmd:"" help:"Finish a stage."`
	SendBack sendBackCmd   `cmd:"" help:"Open a finished stage again, and what was built on it: rework."`
}

type planCmd struct {
	timed
	planWith
	Piece string   `arg:"" help:"Tag number."`
	Route string   `help:"The route of every part not named with --part."`
	Part  []string `help:"A part by label and its own route; repeat for each." placeholder:"LABEL=ROUTE" sep:"none"`
}

func (c *planCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		r := &workflowv1.PlanStagesRequest{RequestId: c.request(), Piece: p.Name, Route: routeName(c.Route)}
		if r.Parts, err = c.parts(p); err != nil {
			return err
		}
		if err := c.add(e.ctx, shop, p, r); err != nil {
			return err
		}
		if r.PlanTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Stages.PlanStages(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStages(e, shop, resp.Stages) })
	})
}

// parts are the parts with routes of their own by label, however they were typed: the same
// plan asked for again is the same request.
func (c *planCmd) parts(p *intakev1.Piece) (out []*workflowv1.PlanStagesRequest_PartRoute, err error) {
	seen := map[string]bool{}
	for _, text := range slices.Sorted(slices.Values(c.Part)) {
		label, route, err := pair(text, "drawers=painted")
		if err != nil {
			return nil, err
		}
		name, err := client.Part(p, label)
		if err != nil {
			return nil, err
		}
		if seen[name] {
			return nil, fmt.Errorf("the part %s is given two routes", label)
		}
		seen[name] = true
		out = append(out, &workflowv1.PlanStagesRequest_PartRoute{Part: name, Route: routeName(route)})
	}
	return out, nil
}

func routeName(word string) string {
	if word == "" {
		return ""
	}
	return "routes/" + strings.TrimPrefix(word, "routes/")
}

type listStagesCmd struct {
	listOutput
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
		return c.print(e, resp, func() error { return printStages(e, shop, resp.Stages) })
	})
}

func printStages(e *env, shop *client.Shop, stages []*workflowv1.Stage) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"stage", "kind", "state", "whose", " pass", "skill", "with", " minutes"}}
	for _, s := range stages {
		t.Add(client.Title(s), report.Kind(s.Kind), stageState(terms, s), whose(s), fmt.Sprint(s.Pass), skillOf(s), s.Grit+s.ProductName, fmt.Sprint(s.AttendedMinutes))
	}
	return t.Print(e.out)
}

// stageState is a stage's state, and until when it dries, away or not.
func stageState(terms client.Terms, s *workflowv1.Stage) string {
	state := report.State(s.State.String())
	switch {
	case s.ReadyTime == nil:
		return state
	case s.State == workflowv1.Stage_STATE_AWAY:
		state += ", drying"
	}
	return state + " until " + terms.Clock(s.ReadyTime)
}

// skillOf is the skill that a stage takes, with the least level if it asks for one.
func skillOf(s *workflowv1.Stage) string {
	if s.SkillLevel == 0 {
		return s.Skill
	}
	return fmt.Sprintf("%s:%d", s.Skill, s.SkillLevel)
}

// whose are those who have a stage, the assignee first.
func whose(s *workflowv1.Stage) string {
	return strings.Join(client.Said(append([]string{s.AssigneeName}, s.HelperNames...)), ", ")
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
	timed
	stageArgs
	Who    string `arg:"" optional:"" help:"Display name."`
	Beside bool   `help:"They come to whoever has it, rather than in their place." xor:"nobody"`
	Nobody bool   `help:"Take the stage back from whoever has it." xor:"nobody"`
}

func (c *assignCmd) Run(e *env) error {
	switch {
	case c.Who == "" && !c.Nobody:
		return errors.New("name who gets it, or --nobody")
	case c.Who != "" && c.Nobody:
		return fmt.Errorf("say either that %s gets it, or --nobody, not both", c.Who)
	}
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.AssignStageRequest{RequestId: c.request(), Stage: stage.Name, Beside: c.Beside}
		if r.AssignTime, err = c.at(e.ctx, shop); err != nil {
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
		return c.print(e, resp, func() error { return printGiven(e, shop, resp) })
	})
}

// printGiven prints a stage that somebody got, and that they have a day off.
func printGiven(e *env, shop *client.Shop, g interface {
	GetStage() *workflowv1.Stage
	GetAbsence() string
}) error {
	if err := printStages(e, shop, []*workflowv1.Stage{g.GetStage()}); err != nil || g.GetAbsence() == "" {
		return err
	}
	fmt.Fprintln(e.out, g.GetAbsence())
	return nil
}
