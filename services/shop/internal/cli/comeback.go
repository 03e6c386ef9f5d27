package cli

import (
	"context"
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type comebackCmd struct {
	Open     openComebackCmd  `cmd:"" help:"Write down that a sold or invoiced piece came back with a fault. It is on the floor again until that is closed."`
	Plan     planComebackCmd  `cmd:"" help:"Add stages that mend it to the piece's own; without any, those that are usual for its faults."`
	Close    closeComebackCmd `cmd:"" help:"Say what became of it."`
	Judge    judgeComebackCmd `cmd:"" help:"Say where the fault is from, as far as anybody can tell."`
	Show     showComebackCmd  `cmd:"" help:"Show the last time that a piece came back."`
	List     listComebacksCmd `cmd:"" help:"List what came back."`
	Evidence evidenceCmd      `cmd:"" help:"Show how the parts in question were worked on, as it is on record: air, recoat times, lots, people."`
	Mendings mendingsCmd      `cmd:"" help:"List what usually mends which fault."`
	Sources  faultSourcesCmd  `cmd:"" help:"Say how many of the sold pieces that had a product, lot, kind of stage, hand or air came back."`
}

// comebackArgs is a piece that came back, for the last time that it did.
type comebackArgs struct {
	Piece string `arg:"" help:"Tag number of the piece; the last time that it came back is meant."`
}

func (a comebackArgs) find(ctx context.Context, shop *client.Shop) (*intakev1.Piece, *workflowv1.Comeback, error) {
	p, err := shop.Piece(ctx, a.Piece)
	if err != nil {
		return nil, nil, err
	}
	c, err := shop.Comeback(ctx, p)
	return p, c, err
}

type openComebackCmd struct {
	timed
	Piece    string   `arg:"" help:"Tag number of the piece."`
	Fault    []string `help:"What is wrong, KIND[:PART[:PHOTO[:NOTE]]] as in inspect fail, such as water-ring:top. Repeat for each." required:"" placeholder:"FAULT" sep:"none"`
	Reported string   `help:"Who says so: the owner of the piece." placeholder:"NAME"`
	Charged  bool     `help:"The owner pays for it, by a bill that is written elsewhere; without it, the shop bears it."`
	AtOwner  bool     `help:"It stands at its owner's; without it, in the shop."`
	Note     string   `help:"What else there is to say."`
}

func (c *openComebackCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		r := &workflowv1.OpenComebackRequest{RequestId: c.request(), Piece: p.Name, ReportedBy: c.Reported, Charged: c.Charged, Note: c.Note}
		if c.AtOwner {
			r.Place = workflowv1.Comeback_PLACE_OWNER
		}
		for _, text := range c.Fault {
			d, err := defect(p, text)
			if err != nil {
				return err
			}
			r.Faults = append(r.Faults, d)
		}
		if r.ReportTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Comebacks.OpenComeback(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printComebacks(e, shop, []*workflowv1.Comeback{resp.Comeback}) })
	})
}

type planComebackCmd struct {
	command
	comebackArgs
	Stage    []string `help:"A stage that mends, KIND[:PART[:PRODUCT[:GRIT]]], such as scuff-sand:top::P320 or topcoat-coat:top:'Clear coat'. Repeat for each, in the order of the work." placeholder:"STAGE" sep:"none"`
	Override []string `help:"Answer for breaking a rule: RULE=REASON. Repeat for each." placeholder:"RULE=REASON" sep:"none"`
	By       string   `help:"With --override: display name of who answers for it." placeholder:"NAME"`
}

func (c *planComebackCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		_, back, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.PlanComebackRequest{RequestId: c.request(), Comeback: back.Name}
		for _, text := range c.Stage {
			m, err := mending(e.ctx, shop, text)
			if err != nil {
				return err
			}
			r.Stages = append(r.Stages, m)
		}
		if r.Overrides, err = (edited{Override: c.Override, By: c.By}).overrides(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Comebacks.PlanComeback(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			for _, f := range resp.Findings {
				fmt.Fprintf(e.out, "%s: %s (%s)\n", f.Stage, f.Rule.GetSays(), bare(f.Rule.GetName()))
			}
			return printStages(e, shop, resp.Stages)
		})
	})
}

// mending reads KIND[:PART[:PRODUCT[:GRIT]]].
func mending(ctx context.Context, shop *client.Shop, text string) (*workflowv1.Mending, error) {
	words := append(strings.SplitN(text, ":", 4), "", "", "")
	m := &workflowv1.Mending{Kind: strings.ReplaceAll(words[0], "-", "_"), PartLabel: words[1], Grit: words[3]}
	if words[2] == "" {
		return m, nil
	}
	product, err := shop.Product(ctx, words[2])
	m.Product = product.GetName()
	return m, err
}

type closeComebackCmd struct {
	timed
	comebackArgs
	Outcome string `arg:"" help:"What became of it: mended, refunded (its owner got money back and keeps it: give that back with sale refund), nothing-found or declined."`
	Note    string `help:"What else there is to say."`
}

func (c *closeComebackCmd) Run(e *env) error {
	outcome, err := readEnum[workflowv1.Comeback_Outcome]("OUTCOME_", c.Outcome, workflowv1.Comeback_Outcome_value)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		_, back, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.CloseComebackRequest{RequestId: c.request(), Comeback: back.Name, Outcome: outcome, Note: c.Note}
		if r.ReturnTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Comebacks.CloseComeback(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printComebacks(e, shop, []*workflowv1.Comeback{resp.Comeback}) })
	})
}

type judgeComebackCmd struct {
	command
	comebackArgs
	Source    string `arg:"" help:"Where the fault is from: product, climate, hand, schedule (too early, too late, too thick), piece (its wood, old finish or construction), use (by its owner) or unknown."`
	Certainty string `help:"How sure that is: possible, likely or certain." default:"likely"`
	Product   string `help:"The product, by its name." placeholder:"NAME"`
	Lot       string `help:"Which lot of it, in words." placeholder:"WORDS"`
	Stage     string `help:"The stage at which it happened, by its title." placeholder:"STAGE"`
	Person    string `help:"Of a hand: display name." placeholder:"NAME"`
	Note      string `help:"What makes one think so."`
}

func (c *judgeComebackCmd) Run(e *env) error {
	j := &workflowv1.Judgement{Lot: c.Lot, Note: c.Note}
	var err error
	if j.Source, err = readEnum[workflowv1.Judgement_Source]("SOURCE_", c.Source, workflowv1.Judgement_Source_value); err != nil {
		return err
	}
	if j.Certainty, err = readEnum[workflowv1.Judgement_Certainty]("CERTAINTY_", c.Certainty, workflowv1.Judgement_Certainty_value); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		p, back, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		if err := c.name(e.ctx, shop, p, j); err != nil {
			return err
		}
		resp, err := shop.Comebacks.JudgeComeback(e.ctx, &workflowv1.JudgeComebackRequest{RequestId: c.request(), Comeback: back.Name, Judgement: j})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printComebacks(e, shop, []*workflowv1.Comeback{resp.Comeback}) })
	})
}

// name finds what the words mean.
func (c *judgeComebackCmd) name(ctx context.Context, shop *client.Shop, p *intakev1.Piece, j *workflowv1.Judgement) error {
	if c.Product != "" {
		product, err := shop.Product(ctx, c.Product)
		if err != nil {
			return err
		}
		j.Product = product.Name
	}
	if c.Stage != "" {
		stage, err := shop.Stage(ctx, p, c.Stage)
		if err != nil {
			return err
		}
		j.Stage = stage.Name
	}
	if c.Person != "" {
		person, err := shop.Person(ctx, c.Person)
		if err != nil {
			return err
		}
		j.Person = person.Name
	}
	return nil
}
