package cli

import (
	"fmt"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type showComebackCmd struct {
	listOutput
	comebackArgs
}

func (c *showComebackCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		_, back, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		all := []*workflowv1.Comeback{back}
		return c.print(e, &workflowv1.ListComebacksResponse{Comebacks: all}, func() error { return printComebacks(e, shop, all) })
	})
}

type listComebacksCmd struct {
	listOutput
	Piece string `help:"Only of this piece." placeholder:"TAG"`
	Open  bool   `help:"Only what is not closed."`
}

func (c *listComebacksCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		piece := ""
		if c.Piece != "" {
			p, err := shop.Piece(e.ctx, c.Piece)
			if err != nil {
				return err
			}
			piece = p.Name
		}
		all, err := shop.AllComebacks(e.ctx, piece, c.Open)
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListComebacksResponse{Comebacks: all}, func() error { return printComebacks(e, shop, all) })
	})
}

func printComebacks(e *env, shop *client.Shop, all []*workflowv1.Comeback) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"reported", " piece", "what is wrong", "who bears it", "where", " rework", "became", "source"}}
	for _, c := range all {
		bears, where, became := "the owner pays", enumWord("PLACE_", c.Place.String()), "open"
		if c.Warranty {
			bears = "warranty"
		}
		if c.Outcome != workflowv1.Comeback_OUTCOME_UNSPECIFIED {
			became = report.Kind(strings.ReplaceAll(enumWord("OUTCOME_", c.Outcome.String()), "-", "_"))
		}
		t.Add(terms.Clock(c.ReportTime), fmt.Sprint(c.PieceTag), each(c.Faults, found), bears, where, report.Hours(c.ReworkTime), became, sourceOf(c.Judgement))
	}
	return t.Print(e.out)
}

// sourceOf is where a fault is from, in words.
func sourceOf(j *workflowv1.Judgement) string {
	if j == nil {
		return "not judged"
	}
	words := []string{enumWord("SOURCE_", j.Source.String())}
	for _, w := range []string{j.ProductName, j.Lot, j.StageTitle, j.PersonName} {
		if w != "" {
			words = append(words, w)
		}
	}
	return strings.Join(words, ", ") + " (" + enumWord("CERTAINTY_", j.Certainty.String()) + ")"
}

type evidenceCmd struct {
	listOutput
	comebackArgs
}

// Help implements kong.HelpProvider.
func (evidenceCmd) Help() string {
	return "It is what was noted, and blames nobody: a coat in air outside of what its product's sheet allows may hold, and one within may not. How long the coat below wants is by its sheet, at the air that is for."
}

func (c *evidenceCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		_, back, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Comebacks.GetComebackEvidence(e.ctx, &workflowv1.GetComebackEvidenceRequest{Comeback: back.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			terms, err := shop.Terms(e.ctx)
			if err != nil {
				return err
			}
			t := &report.Table{Headings: []string{"finished", "stage", " passes", "who", "with", " lots", "air", "after the coat below"}}
			for _, f := range resp.Facts {
				t.Add(terms.Clock(f.FinishTime), f.StageTitle, fmt.Sprint(f.Passes), strings.Join(f.PersonNames, ", "), f.ProductName, fmt.Sprint(len(f.Lots)), airOf(f), recoatOf(f))
			}
			return t.Print(e.out)
		})
	})
}

func airOf(f *workflowv1.GetComebackEvidenceResponse_Fact) string {
	if f.Celsius == nil {
		return "–"
	}
	air := fmt.Sprintf("%.0f °C, %.0f %%", f.GetCelsius(), f.GetHumidityPercent())
	if f.AirNote != "" {
		air += ": " + f.AirNote
	}
	return air
}

func recoatOf(f *workflowv1.GetComebackEvidenceResponse_Fact) string {
	switch {
	case f.CoatBelow == "":
		return "–"
	case f.RecoatNote != "":
		return f.RecoatNote
	}
	return report.Hours(f.Waited)
}

type mendingsCmd struct{ listOutput }

func (c *mendingsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Comebacks.ListUsualMendings(e.ctx, &workflowv1.ListUsualMendingsRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			t := &report.Table{Headings: []string{"fault", "what usually mends it"}}
			for _, m := range resp.Mendings {
				t.Add(m.Fault, report.Kind(strings.Join(m.StageKinds, ", ")))
			}
			return t.Print(e.out)
		})
	})
}

type faultSourcesCmd struct {
	listOutput
	By   string `help:"By what: product, lot, stage-kind, worker, climate, fault or judged-source." default:"product" placeholder:"WHAT"`
	From string `help:"Only pieces that were sold then or later, as --at says times elsewhere." placeholder:"TIME"`
	To   string `help:"Only pieces that were sold before." placeholder:"TIME"`
}

// Help implements kong.HelpProvider.
func (faultSourcesCmd) Help() string {
	return "The rate is of pieces that had it and came back at least once; the range is what it may be in the long run (Wilson's score interval, 95 %). " +
		"Of fewer than 20 pieces it says little. Having had something does not mean that it is the cause. Failed inspections are not counted: inspect report has them."
}

func (c *faultSourcesCmd) Run(e *env) error {
	by, err := readEnum[workflowv1.ListFaultSourcesRequest_By]("BY_", c.By, workflowv1.ListFaultSourcesRequest_By_value)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.ListFaultSourcesRequest{By: by}
		if r.FromTime, err = instant(e.ctx, shop, c.From); err != nil {
			return err
		}
		if r.ToTime, err = instant(e.ctx, shop, c.To); err != nil {
			return err
		}
		resp, err := shop.Comebacks.ListFaultSources(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return c.table(resp).Print(e.out) })
	})
}

func (c *faultSourcesCmd) table(resp *workflowv1.ListFaultSourcesResponse) *report.Table {
	t := &report.Table{Headings: []string{strings.ReplaceAll(c.By, "-", " "), " came back", " had it", " rate", "range", " rework", ""}}
	for _, l := range resp.Lines {
		few := ""
		if l.Few {
			few = "few"
		}
		t.Add(orDash(report.Kind(l.Title)), fmt.Sprint(l.PiecesBack), fmt.Sprint(l.Exposed), fmt.Sprintf("%.0f %%", 100*l.Rate),
			fmt.Sprintf("%.0f to %.0f %%", 100*l.RateLow, 100*l.RateHigh), report.Hours(l.ReworkTime), few)
	}
	return t
}
