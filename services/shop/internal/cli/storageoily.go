package cli

import (
	"cmp"
	"errors"
	"fmt"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type oilyGroup struct {
	Show     showOilyCmd     `cmd:"" help:"Show what made oily waste on a day, and whether it was put away."`
	Confirm  confirmOilyCmd  `cmd:"" help:"Say that all oily waste there is has been put away, and how."`
	Withdraw withdrawOilyCmd `cmd:"" help:"Saying so was a mistake: what was open before it is open again."`
}

type showOilyCmd struct {
	listOutput
	Date string `arg:"" optional:"" help:"The day; without it, today."`
}

func (c *showOilyCmd) Run(e *env) error {
	date, err := client.Day(c.Date)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Storage.GetOilyWaste(e.ctx, &materialsv1.GetOilyWasteRequest{Date: date})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printOily(e, shop, resp) })
	})
}

func printOily(e *env, shop *client.Shop, r *materialsv1.GetOilyWasteResponse) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	says := "nothing of it is open"
	if r.Open {
		says = "it must be put away by " + terms.Clock(r.DueTime)
	}
	fmt.Fprintf(e.out, "Oily waste of %s: %s.\n\n", client.WriteDay(r.Date), says)
	if err := printOilyWork(e, shop, terms, r.Work); err != nil {
		return err
	}
	if len(r.Checks) > 0 {
		fmt.Fprintln(e.out)
		if err := printOilyChecks(e, terms, r.Checks); err != nil {
			return err
		}
	}
	return sayCaution(e, r.Caution)
}

// printOilyWork prints what made oily waste.
func printOilyWork(e *env, shop *client.Shop, terms client.Terms, all []*materialsv1.GetOilyWasteResponse_Work) error {
	words := newStageWords(e, shop)
	t := &report.Table{Headings: []string{"last known of", "what", " piece", "who", ""}}
	for _, w := range all {
		tag, title, err := words.of(w.Stage, w.StageKind)
		if err != nil {
			return err
		}
		open := ""
		if w.Open {
			open = "not put away"
		}
		t.Add(terms.Clock(w.LastTime), cmp.Or(title, "the shop's own waste"), orDash(tag), w.Person, open)
	}
	return t.Print(e.out)
}

// printOilyChecks prints who said that it was put away, and who took that back.
func printOilyChecks(e *env, terms client.Terms, all []*materialsv1.OilyWasteCheck) error {
	t := &report.Table{Headings: []string{"check", "put away by", "how", "who", "remark"}}
	for _, k := range all {
		remark := k.Note
		if k.WithdrawTime != nil {
			remark = fmt.Sprintf("withdrawn by %s: %s", k.WithdrawnBy, k.WithdrawReason)
		}
		t.Add(bare(k.Name), terms.Clock(k.ConfirmTime), enumWord("OILY_WASTE_WAY_", k.Way.String()), k.Actor, remark)
	}
	return t.Print(e.out)
}

type confirmOilyCmd struct {
	timed
	Way  string `arg:"" help:"How: spread-out (one by one, in the open, until it is hard), metal-can (lidded, with water, out of the building) or taken-away (by who disposes of it)."`
	Note string `help:"What there is to say of it."`
}

func (c *confirmOilyCmd) Run(e *env) error {
	way, err := readEnum[materialsv1.OilyWasteWay]("OILY_WASTE_WAY_", c.Way, materialsv1.OilyWasteWay_value)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Storage.ConfirmOilyWaste(e.ctx, &materialsv1.ConfirmOilyWasteRequest{RequestId: c.request(), Way: way, Note: c.Note, ConfirmTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			terms, err := shop.Terms(e.ctx)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(e.out, "Written down: all oily waste there was at %s had been put away by then: %s. What is done later needs a word of its own.\n",
				terms.Clock(resp.Check.GetConfirmTime()), enumWord("OILY_WASTE_WAY_", resp.Check.GetWay().String()))
			return err
		})
	})
}

type withdrawOilyCmd struct {
	command
	Check  string `arg:"" optional:"" help:"The check's id, as the day that it was of shows it; without it, the last of today."`
	Reason string `help:"Why." required:""`
}

func (c *withdrawOilyCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		name, err := c.find(e, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Storage.WithdrawOilyWasteCheck(e.ctx, &materialsv1.WithdrawOilyWasteCheckRequest{RequestId: c.request(), Name: name, Reason: c.Reason})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintln(e.out, "Withdrawn; what was open before it is open again: `shop storage oily show` shows it.")
			return err
		})
	})
}

// find finds the check. One that was not typed is kept for the line to give again.
func (c *withdrawOilyCmd) find(e *env, shop *client.Shop) (string, error) {
	if c.Check != "" {
		return "oilyWasteChecks/" + bare(c.Check), nil
	}
	today, err := shop.Storage.GetOilyWaste(e.ctx, &materialsv1.GetOilyWasteRequest{})
	if err != nil {
		return "", err
	}
	var last *materialsv1.OilyWasteCheck
	for _, k := range today.Checks {
		if k.WithdrawTime == nil && (last == nil || k.ConfirmTime.AsTime().After(last.ConfirmTime.AsTime())) {
			last = k
		}
	}
	if last == nil {
		return "", errors.New("nobody said today that oily waste was put away; `shop storage oily show DAY` shows what was said on another day, with its id")
	}
	c.fixed.words = append(c.fixed.words, bare(last.Name))
	return last.Name, nil
}
