package cli

import (
	"context"
	"fmt"
	"time"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type emissionsCmd struct {
	csvOutput
	Month string `arg:"" optional:"" help:"The month of the shop's calendar, such as 2026-03; without it, this one."`
	CSV   bool   `help:"Write it as a table of values separated by commas." name:"csv"`
}

func (c *emissionsCmd) Run(e *env) error {
	month, err := time.Parse("2006-01", c.Month)
	if err != nil {
		return fmt.Errorf("%q is not a month such as 2026-03", c.Month)
	}
	year, number := int32(month.Year()), int32(month.Month())
	return e.with(func(shop *client.Shop) error {
		if c.CSV || c.Out != "" {
			resp, err := shop.Storage.ExportEmissions(e.ctx, &materialsv1.ExportEmissionsRequest{Year: year, Month: number})
			if err != nil {
				return err
			}
			return c.write(e, []byte(resp.Csv))
		}
		resp, err := shop.Storage.GetEmissions(e.ctx, &materialsv1.GetEmissionsRequest{Year: year, Month: number})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printEmissions(e, resp) })
	})
}

func printEmissions(e *env, r *materialsv1.GetEmissionsResponse) error {
	t := &report.Table{Headings: []string{"what", "product", " used", " g/L", " grams"}}
	add := func(what string, lines []*materialsv1.EmissionLine) {
		for _, l := range lines {
			stated, grams := "–", "–"
			if l.VocGramsPerLitre != nil {
				stated = fmt.Sprintf("%.4g", *l.VocGramsPerLitre)
			}
			if l.Grams != nil {
				grams = gramsWord(*l.Grams)
			}
			t.Add(what, l.ProductName, report.Quantity(l.Used), stated, grams)
		}
	}
	add("coating", r.Coatings)
	add("solvent", r.Solvents)
	add("nobody stated it", r.Unknown)
	t.Add()
	t.Add("coatings", "", "", "", gramsWord(r.CoatingGrams))
	t.Add("solvents", "", "", "", gramsWord(r.SolventGrams))
	t.Add("all", "", "", "", gramsWord(r.TotalGrams))
	if err := t.Print(e.out); err != nil {
		return err
	}
	return sayCaution(e, r.Caution)
}

func gramsWord(grams float64) string { return fmt.Sprintf("%.1f", grams) }

type wasteLogCmd struct {
	csvOutput
	From  string `help:"From this time on." placeholder:"TIME"`
	To    string `help:"Until this time." placeholder:"TIME"`
	Cause string `help:"Only of this cause: gun-cleaning, hose, left-over, expired, spoilt or spilt." placeholder:"CAUSE"`
	CSV   bool   `help:"Write it as a table of values separated by commas." name:"csv"`
}

func (c *wasteLogCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r, err := c.asked(e, shop)
		if err != nil {
			return err
		}
		if c.CSV || c.Out != "" {
			resp, err := shop.Storage.ExportWaste(e.ctx, &materialsv1.ExportWasteRequest{FromTime: r.FromTime, ToTime: r.ToTime, Cause: r.Cause})
			if err != nil {
				return err
			}
			return c.write(e, []byte(resp.Csv))
		}
		caution := ""
		all, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Waste, string, error) {
			r.PageToken = token
			resp, err := shop.Storage.ListWaste(ctx, r)
			caution = resp.GetCaution()
			return resp.GetWaste(), resp.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListWasteResponse{Waste: all, Caution: caution}, func() error {
			if err := printWaste(e, shop, all); err != nil {
				return err
			}
			return sayCaution(e, caution)
		})
	})
}

func (c *wasteLogCmd) asked(e *env, shop *client.Shop) (r *materialsv1.ListWasteRequest, err error) {
	r = &materialsv1.ListWasteRequest{PageSize: 1000}
	if c.Cause != "" {
		if r.Cause, err = readEnum[materialsv1.WasteCause]("WASTE_CAUSE_", c.Cause, materialsv1.WasteCause_value); err != nil {
			return nil, err
		}
	}
	if r.FromTime, err = instant(e.ctx, shop, c.From); err != nil {
		return nil, err
	}
	r.ToTime, err = instant(e.ctx, shop, c.To)
	return r, err
}

func printWaste(e *env, shop *client.Shop, all []*materialsv1.Waste) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	words := newStageWords(e, shop)
	t := &report.Table{Headings: []string{"when", "cause", "product", " amount", " cost", " piece", "stage", "who", "note"}}
	for _, w := range all {
		tag, title, err := words.of(w.Stage, w.StageKind)
		if err != nil {
			return err
		}
		t.Add(terms.Clock(w.Time), enumWord("WASTE_CAUSE_", w.Cause.String()), w.ProductName, report.Quantity(w.Quantity), report.Money(w.Cost), tag, title, w.Actor, w.Note)
	}
	return t.Print(e.out)
}

type oilyGroup struct {
	Show    showOilyCmd    `cmd:"" help:"Show what made oily waste on a day, and whether it was put away."`
	Confirm confirmOilyCmd `cmd:"" help:"Say that all oily waste there is has been put away, and how."`
}

type showOilyCmd struct {
	output
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
	words := newStageWords(e, shop)
	t := &report.Table{Headings: []string{"last known of", "what", "", "who", ""}}
	for _, w := range r.Work {
		tag, title, err := words.of(w.Stage, w.StageKind)
		if err != nil {
			return err
		}
		open := ""
		if w.Open {
			open = "not put away"
		}
		t.Add(terms.Clock(w.LastTime), title, "piece "+tag, w.Person, open)
	}
	for _, k := range r.Checks {
		t.Add(terms.Clock(k.ConfirmTime), "put away: "+enumWord("OILY_WASTE_WAY_", k.Way.String()), "", k.Actor, k.Note)
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	return sayCaution(e, r.Caution)
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
