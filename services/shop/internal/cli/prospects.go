package cli

import (
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type listProspectsCmd struct {
	listOutput
	State string `help:"Only those that are open, bought or declined."`
}

func (c *listProspectsCmd) Run(e *env) error {
	state := intakev1.Prospect_STATE_UNSPECIFIED
	if c.State != "" {
		var err error
		if state, err = readEnum[intakev1.Prospect_State]("STATE_", c.State, intakev1.Prospect_State_value); err != nil {
			return err
		}
	}
	return e.with(func(shop *client.Shop) error {
		all, err := shop.AllProspects(e.ctx, state)
		if err != nil {
			return err
		}
		return c.print(e, &intakev1.ListProspectsResponse{Prospects: all}, func() error { return printProspects(e, shop, all) })
	})
}

func printProspects(e *env, shop *client.Shop, all []*intakev1.Prospect) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" number", "seen", "what", "where", " asked", " most to pay", "advice", "state"}}
	for _, p := range all {
		t.Add(fmt.Sprint(p.Number), terms.Clock(p.SeenTime), prospectTitle(p), p.GetSighting().GetSource(), report.Money(p.GetSighting().GetAskingPrice()),
			report.Money(atLeastNothing(p.GetAdvice().GetMostToPay())), verdicts[p.GetAdvice().GetVerdict()], prospectState(p))
	}
	return t.Print(e.out)
}

// prospectState says what became of a prospect.
func prospectState(p *intakev1.Prospect) string {
	switch p.State {
	case intakev1.Prospect_STATE_BOUGHT:
		return fmt.Sprintf("bought for %s: piece %d", report.Money(p.Paid), p.PieceTag)
	case intakev1.Prospect_STATE_DECLINED:
		return "declined: " + p.DeclineReason
	}
	return report.State(p.State.String())
}

type showProspectCmd struct {
	listOutput
	Prospect string `arg:"" help:"Its number."`
}

func (c *showProspectCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Prospect(e.ctx, c.Prospect)
		if err != nil {
			return err
		}
		return c.print(e, p, func() error { return printProspect(e, shop, p) })
	})
}

func printProspect(e *env, shop *client.Shop, p *intakev1.Prospect) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	s := p.GetSighting()
	fmt.Fprintf(e.out, "Prospect %d: %s, seen %s, %s\n", p.Number, prospectTitle(p), terms.Clock(p.SeenTime), prospectState(p))
	asked := report.Money(s.GetAskingPrice())
	if away := s.GetDistanceKm(); away > 0 {
		asked += ", " + decimals(away) + " km away"
	}
	for _, said := range [][2]string{{"asked", asked}, {"what", strings.Join(filledIn(enumWord("PIECE_SIZE_", s.GetSize().String()), s.GetMaterial(), s.GetSpecies(), s.GetKind()), " ")}, {"to become", s.GetLook()},
		{"old coating", oldCoating(s)}, {"defects", strings.Join(s.GetDefects(), ", ")}, {"found at", s.GetSource()}, {"sold at", s.GetChannel()}, {"note", s.GetNote()}} {
		if said[1] != "" {
			fmt.Fprintf(e.out, "  %-12s %s\n", said[0], said[1])
		}
	}
	fmt.Fprintf(e.out, "\nWhat was advised then:\n\n")
	return printPurchaseAdvice(e, s.GetAskingPrice(), p.Advice)
}

func oldCoating(s *intakev1.Sighting) string {
	switch {
	case s.GetOldFinish() == "":
		return "none"
	case s.GetPaintedIn() == 0:
		return s.GetOldFinish() + ", nobody knows from when"
	}
	return fmt.Sprintf("%s, from %d or later", s.GetOldFinish(), s.GetPaintedIn())
}

// filledIn are the words that say something.
func filledIn(words ...string) (all []string) {
	for _, w := range words {
		if w != "" {
			all = append(all, w)
		}
	}
	return all
}

type buyProspectCmd struct {
	timed
	Prospect string   `arg:"" help:"Its number."`
	Price    string   `arg:"" help:"What was paid."`
	Source   string   `help:"Where it was bought. Without it: where it was found."`
	Date     string   `help:"The day it was bought; without it, the day it came in." placeholder:"DAY"`
	Tag      int32    `help:"The number on its tag; without it, the next free one." placeholder:"NUMBER"`
	Part     []string `help:"A part, as piece take-in has it. Repeat for each. Without any: those that the advice went by." placeholder:"PART" sep:"none"`
}

func (c *buyProspectCmd) Run(e *env) error {
	r := &intakev1.BuyProspectRequest{RequestId: c.request(), Source: c.Source, Tag: c.Tag}
	var err error
	if r.Date, err = client.Day(c.Date); err != nil {
		return err
	}
	for _, text := range c.Part {
		part, err := readPart(text)
		if err != nil {
			return err
		}
		r.Parts = append(r.Parts, part)
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Prospect(e.ctx, c.Prospect)
		if err != nil {
			return err
		}
		r.Prospect = p.Name
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		if r.Price, err = terms.Amount(c.Price); err != nil {
			return err
		}
		if r.TakenInTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Prospects.BuyProspect(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.TakenInTime)
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Prospect %d is bought for %s and is piece %d: %s.\n", resp.Prospect.GetNumber(), report.Money(r.Price), resp.Piece.GetTag(), resp.Piece.GetTitle())
			return err
		})
	})
}

type declineProspectCmd struct {
	timed
	Prospect string `arg:"" help:"Its number."`
	Reason   string `help:"Why it is not bought." required:""`
}

func (c *declineProspectCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Prospect(e.ctx, c.Prospect)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Prospects.DeclineProspect(e.ctx, &intakev1.DeclineProspectRequest{RequestId: c.request(), Prospect: p.Name, Reason: c.Reason, DeclineTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Prospect %d is declined: %s.\n", p.Number, c.Reason)
			return err
		})
	})
}
