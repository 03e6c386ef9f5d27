package cli

import (
	"fmt"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type dryingCmd struct {
	List listDryingCmd `cmd:"" help:"List what dries, soonest ready first."`
	Move moveDryingCmd `cmd:"" help:"Say that what dries was carried to another zone."`
	Felt feltCmd       `cmd:"" help:"Say what somebody felt of a film: not yet there at one time, or there at another."`
}

type listDryingCmd struct {
	listOutput
	Piece string `help:"Only this piece's, by tag number." placeholder:"TAG"`
	Zone  string `help:"Only in this zone." placeholder:"WORD"`
}

func (c *listDryingCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.ListDryClocksRequest{Zone: zoneName(c.Zone)}
		if c.Piece != "" {
			p, err := shop.Piece(e.ctx, c.Piece)
			if err != nil {
				return err
			}
			r.Piece = p.Name
		}
		resp, err := shop.Climate.ListDryClocks(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printDryClocks(e, shop, resp.DryClocks) })
	})
}

func printDryClocks(e *env, shop *client.Shop, clocks []*workflowv1.DryClock) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"piece", "after", "with", "zone", "ready to", "likely", "at the earliest", "at the latest", "window closes"}}
	for _, c := range clocks {
		closes := ""
		if c.RecoatCloses != nil {
			closes = terms.Clock(c.RecoatCloses.LikelyTime)
		}
		likely := terms.Clock(c.Ready.GetLikelyTime())
		if c.IsReady {
			likely = "ready"
		}
		t.Add(fmt.Sprint(c.PieceTag), c.StageTitle, c.ProductName, bare(c.Zone), readyTo(c.Needs), likely,
			terms.Clock(c.Ready.GetEarlyTime()), terms.Clock(c.Ready.GetLateTime()), closes)
	}
	return t.Print(e.out)
}

// readyTo says what a part that dries is waited for to do.
func readyTo(s workflowv1.DryState) string {
	switch s {
	case workflowv1.DryState_DRY_STATE_SAND:
		return "sand"
	case workflowv1.DryState_DRY_STATE_CURED:
		return "be handled"
	}
	return "recoat"
}

type moveDryingCmd struct {
	timed
	stageArgs
	Zone string `arg:"" help:"The zone's word."`
}

func (c *moveDryingCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.MoveDryingRequest{RequestId: c.request(), Stage: stage.Name, Zone: zoneName(c.Zone)}
		if r.MoveTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Climate.MoveDrying(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printDryClocks(e, shop, []*workflowv1.DryClock{resp.DryClock}) })
	})
}

type feltCmd struct {
	command
	stageArgs
	Milestone string `arg:"" help:"touch, tack-free, sand, recoat or cured." enum:"touch,tack-free,sand,recoat,cured"`
	NotYet    string `help:"When it was not there yet." placeholder:"TIME"`
	Reached   string `help:"When it was." placeholder:"TIME"`
}

func (c *feltCmd) milestone() workflowv1.ObserveDryingRequest_Milestone {
	name := "MILESTONE_" + strings.ToUpper(strings.ReplaceAll(c.Milestone, "-", "_"))
	if c.Milestone == "touch" {
		name = "MILESTONE_SET_TO_TOUCH"
	}
	return workflowv1.ObserveDryingRequest_Milestone(workflowv1.ObserveDryingRequest_Milestone_value[name])
}

func (c *feltCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.ObserveDryingRequest{RequestId: c.request(), Stage: stage.Name, Milestone: c.milestone()}
		if r.NotYetTime, err = instant(e.ctx, shop, c.NotYet); err != nil {
			return err
		}
		if r.ReachedTime, err = instant(e.ctx, shop, c.Reached); err != nil {
			return err
		}
		resp, err := shop.Climate.ObserveDrying(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "By %d coats it takes %.2f times as long here as stated, nine times in ten between %.2f and %.2f.\n",
				resp.Outcomes, resp.Factor, resp.FactorLow, resp.FactorHigh)
			if err != nil {
				return err
			}
			return printDryClocks(e, shop, []*workflowv1.DryClock{resp.DryClock})
		})
	})
}
