package cli

import (
	"errors"
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type handOverCmd struct {
	timed
	stageArgs
	From    string `arg:"" help:"Display name of who has it, or is on the clock at it."`
	To      string `arg:"" help:"Display name of who gets it."`
	Note    string `help:"What the next one should know."`
	ClockOn bool   `help:"The next one's clock begins at the same instant."`
	startFlags
}

func (c *handOverCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		from, err := shop.Person(e.ctx, c.From)
		if err != nil {
			return err
		}
		to, err := shop.Person(e.ctx, c.To)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.HandOverStageRequest{RequestId: c.request(), Stage: stage.Name, From: from.Name, To: to.Name,
			HandOverTime: at, Note: c.Note, ClockOn: c.ClockOn, AcknowledgedCautions: c.cautions(), OverrideReason: c.Override}
		if r.Station, err = optionalStation(e, shop, c.Station); err != nil {
			return err
		}
		resp, err := shop.Stages.HandOverStage(e.ctx, r)
		if err != nil {
			return withFlag(err)
		}
		return c.print(e, resp, func() error { return printGiven(e, shop, resp) })
	})
}

type nextCmd struct {
	listOutput
	Who     string `arg:"" help:"Display name."`
	Station string `help:"Only what can be done at this station, by its word or name." placeholder:"STATION"`
	Most    int32  `help:"At most this many, up to 50; without it, 5." default:"5" placeholder:"NUMBER"`
}

func (c *nextCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		r := &workflowv1.ListNextStagesRequest{Person: who.Name, PageSize: c.Most}
		if r.Station, err = optionalStation(e, shop, c.Station); err != nil {
			return err
		}
		resp, err := shop.Stages.ListNextStages(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			if err := printNext(e, shop, resp.NextStages); err != nil {
				return err
			}
			if resp.More > 0 {
				fmt.Fprintf(e.out, "… and %d more (--most shows up to 50)\n", resp.More)
			}
			for _, o := range resp.Obstacles {
				fmt.Fprintln(e.out, o)
			}
			return nil
		})
	})
}

// optionalStation is the resource name of a station that a person typed; none stays none.
func optionalStation(e *env, shop *client.Shop, ref string) (string, error) {
	if ref == "" {
		return "", nil
	}
	st, err := shop.Station(e.ctx, ref)
	return st.GetName(), err
}

func printNext(e *env, shop *client.Shop, all []*workflowv1.NextStage) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" piece", "stage", "kind", " minutes", "station", "promised", " value", "why"}}
	for _, n := range all {
		s := n.Stage
		t.Add(fmt.Sprint(n.PieceTag), client.Title(s), report.Kind(s.GetKind()), fmt.Sprint(s.GetAttendedMinutes()), s.GetStation(),
			terms.Clock(n.PromiseTime), report.Money(n.Value), n.Why)
	}
	return t.Print(e.out)
}

type claimCmd struct {
	command
	Who     string `arg:"" help:"Display name."`
	Piece   string `arg:"" optional:"" help:"Tag number of the piece whose stage they want; without it, the best."`
	Stage   string `arg:"" optional:"" help:"The stage they want, by its title."`
	Station string `help:"Where they stand: only what can be done there." placeholder:"STATION"`
}

func (c *claimCmd) Run(e *env) error {
	if c.Piece != "" && c.Stage == "" {
		return errors.New("say which stage of the piece they want, or neither piece nor stage")
	}
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		r := &workflowv1.ClaimStageRequest{RequestId: c.request(), Person: who.Name}
		if c.Piece != "" {
			stage, err := stageArgs{c.Piece, c.Stage}.find(e.ctx, shop)
			if err != nil {
				return err
			}
			r.Stage = stage.Name
		}
		if r.Station, err = optionalStation(e, shop, c.Station); err != nil {
			return err
		}
		resp, err := shop.Stages.ClaimStage(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printNext(e, shop, []*workflowv1.NextStage{resp.NextStage}) })
	})
}
