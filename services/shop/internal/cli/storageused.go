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
	return e.with(func(shop *client.Shop) error {
		year, month, err := c.month(e, shop)
		if err != nil {
			return err
		}
		if c.CSV || c.Out != "" {
			resp, err := shop.Storage.ExportEmissions(e.ctx, &materialsv1.ExportEmissionsRequest{Year: year, Month: month})
			if err != nil {
				return err
			}
			return c.write(e, []byte(resp.Csv))
		}
		resp, err := shop.Storage.GetEmissions(e.ctx, &materialsv1.GetEmissionsRequest{Year: year, Month: month})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printEmissions(e, resp) })
	})
}

// month is the one that was typed, or this one by the shop's clock.
func (c *emissionsCmd) month(e *env, shop *client.Shop) (year, month int32, err error) {
	if c.Month != "" {
		typed, err := time.Parse("2006-01", c.Month)
		if err != nil {
			return 0, 0, fmt.Errorf("%q is not a month such as 2026-03", c.Month)
		}
		return int32(typed.Year()), int32(typed.Month()), nil
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return 0, 0, err
	}
	now := time.Now().In(terms.Zone)
	return int32(now.Year()), int32(now.Month()), nil
}

func printEmissions(e *env, r *materialsv1.GetEmissionsResponse) error {
	fmt.Fprintf(e.out, "Volatile compounds of %04d-%02d.\n\n", r.Year, r.Month)
	t := &report.Table{Headings: []string{"what", "product", " used", " g/L", " grams"}}
	addEmissions(t, "coating", r.Coatings)
	addEmissions(t, "solvent", r.Solvents)
	addEmissions(t, "missing when counted", r.Missing)
	addEmissions(t, "nobody stated it", r.Unknown)
	t.Add()
	t.Add("coatings", "", "", "", gramsWord(r.CoatingGrams))
	t.Add("solvents", "", "", "", gramsWord(r.SolventGrams))
	t.Add("missing", "", "", "", gramsWord(r.MissingGrams))
	t.Add("all", "", "", "", gramsWord(r.TotalGrams))
	if err := t.Print(e.out); err != nil {
		return err
	}
	if err := sayCaution(e, r.Text); err != nil {
		return err
	}
	return sayCaution(e, r.Caution)
}

func addEmissions(t *report.Table, what string, lines []*materialsv1.EmissionLine) {
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
		log, err := wasteLog(e, shop, r)
		if err != nil {
			return err
		}
		return c.print(e, log, func() error {
			if err := printWaste(e, shop, log.Waste); err != nil {
				return err
			}
			return sayCaution(e, log.Caution)
		})
	})
}

// wasteLog reads all that was asked for, with the caution.
func wasteLog(e *env, shop *client.Shop, r *materialsv1.ListWasteRequest) (*materialsv1.ListWasteResponse, error) {
	log := &materialsv1.ListWasteResponse{}
	var err error
	log.Waste, err = client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Waste, string, error) {
		r.PageToken = token
		resp, err := shop.Storage.ListWaste(ctx, r)
		log.Caution = resp.GetCaution()
		return resp.GetWaste(), resp.GetNextPageToken(), err
	})
	return log, err
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
