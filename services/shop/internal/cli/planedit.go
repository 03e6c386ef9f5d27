package cli

import (
	"context"
	"fmt"
	"os"
	"strings"

	"google.golang.org/protobuf/encoding/protojson"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// edited is a plan edited by hand, and who answers for what it breaks.
type edited struct {
	Piece    string   `arg:"" help:"Tag number."`
	Stages   string   `type:"existingfile" help:"The stages edited by hand: a file that plan show --json wrote." placeholder:"FILE"`
	Override []string `help:"Break a rule knowingly: its id, perhaps the stage, and why; repeat for each. Needs --by." placeholder:"RULE[@STAGE]=REASON" sep:"none"`
	By       string   `help:"Who answers for the overrides." placeholder:"NAME"`
}

// stages reads the edited stages; without a file there are none.
func (c edited) stages() ([]*workflowv1.PlannedStage, error) {
	if c.Stages == "" {
		return nil, nil
	}
	b, err := os.ReadFile(c.Stages)
	if err != nil {
		return nil, err
	}
	shown := &workflowv1.GetFinishPlanResponse{}
	if err := protojson.Unmarshal(b, shown); err != nil {
		return nil, fmt.Errorf("%s: %w", c.Stages, err)
	}
	if len(shown.Plan.GetStages()) == 0 {
		return nil, fmt.Errorf("%s: there is no plan with stages in it", c.Stages)
	}
	return shown.Plan.Stages, nil
}

// overrides reads RULE=REASON and RULE@STAGE=REASON.
func (c edited) overrides(ctx context.Context, shop *client.Shop) (out []*workflowv1.Override, err error) {
	if len(c.Override) == 0 {
		return nil, nil
	}
	if c.By == "" {
		return nil, fmt.Errorf("say with --by who answers for the overrides")
	}
	who, err := shop.Person(ctx, c.By)
	if err != nil {
		return nil, err
	}
	for _, text := range c.Override {
		what, reason, found := strings.Cut(text, "=")
		if !found || what == "" || reason == "" {
			return nil, fmt.Errorf("%q is not of the form 'bleed-through@paint (case)=why'", text)
		}
		rule, stage, _ := strings.Cut(what, "@")
		out = append(out, &workflowv1.Override{Rule: "rules/" + rule, Stage: stage, Person: who.Name, Reason: reason})
	}
	return out, nil
}

// with finds the piece and reads what was edited and overridden.
func (c edited) with(e *env, shop *client.Shop) (p *intakev1.Piece, stages []*workflowv1.PlannedStage, overrides []*workflowv1.Override, err error) {
	if p, err = shop.Piece(e.ctx, c.Piece); err != nil {
		return nil, nil, nil, err
	}
	if stages, err = c.stages(); err != nil {
		return nil, nil, nil, err
	}
	overrides, err = c.overrides(e.ctx, shop)
	return p, stages, overrides, err
}

type checkPlanCmd struct {
	listOutput
	edited
}

func (c *checkPlanCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, stages, overrides, err := c.with(e, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Finish.CheckFinishPlan(e.ctx, &workflowv1.CheckFinishPlanRequest{Piece: p.Name, Stages: stages, Overrides: overrides})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printCheck(e, resp) })
	})
}

func printCheck(e *env, resp *workflowv1.CheckFinishPlanResponse) error {
	says := "The plan can be approved."
	if !resp.CanBeApproved {
		says = "The plan cannot be approved as it is."
	}
	if _, err := fmt.Fprintln(e.out, says); err != nil {
		return err
	}
	if err := printFindings(e, resp.Findings); err != nil {
		return err
	}
	return printNeeds(e, resp.Needs)
}

type approvePlanCmd struct {
	command
	edited
}

func (c *approvePlanCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, stages, overrides, err := c.with(e, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Finish.ApproveFinishPlan(e.ctx, &workflowv1.ApproveFinishPlanRequest{
			RequestId: c.request(), Piece: p.Name, Stages: stages, Overrides: overrides})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStages(e, shop, resp.Stages) })
	})
}

type amendPlanCmd struct {
	command
	edited
	Reason string `help:"Why." required:""`
}

func (c *amendPlanCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, stages, overrides, err := c.with(e, shop)
		if err != nil {
			return err
		}
		if stages == nil { // as they are, by what sheets and tests now say
			shown, err := shop.Finish.GetFinishPlan(e.ctx, &workflowv1.GetFinishPlanRequest{Name: p.Name})
			if err != nil {
				return err
			}
			stages = shown.Plan.Stages
		}
		resp, err := shop.Finish.AmendFinishPlan(e.ctx, &workflowv1.AmendFinishPlanRequest{
			RequestId: c.request(), Piece: p.Name, Stages: stages, Overrides: overrides, Reason: c.Reason})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printStages(e, shop, resp.Stages) })
	})
}
