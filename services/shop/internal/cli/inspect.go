package cli

import (
	"context"
	"fmt"
	"regexp"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type inspectCmd struct {
	Pass   passCmd            `cmd:"" help:"Write down that somebody looked at a stage and found it good: a stage of kind inspect is finished by it."`
	Fail   failCmd            `cmd:"" help:"Write down what is wrong with it and which stage has to be done again."`
	List   listInspectionsCmd `cmd:"" help:"List what inspections found."`
	Kinds  defectKindsCmd     `cmd:"" help:"List the trade's words for what can be wrong."`
	Report defectReportCmd    `cmd:"" help:"Say how often what was wrong, by product, worker, air or kind of stage."`
}

// inspection is what both a pass and a fail say.
type inspection struct {
	timed
	stageArgs
	Who    string   `arg:"" help:"Display name of who looked at it."`
	Point  string   `help:"What was looked at: colour-match, film, adhesion, hardware or overall; without it, what the stage's key says." placeholder:"POINT"`
	Defect []string `help:"What is wrong, KIND[:PART[:PHOTO[:NOTE]]], such as runs:top, or fish_eye:doors:photos/7.jpg:'left one'. Repeat for each; of a pass, what is let be." placeholder:"DEFECT" sep:"none"`
	Note   string   `help:"What else there is to say."`
}

// ask finds what the words mean.
func (c *inspection) ask(e *env, shop *client.Shop) (*workflowv1.RecordInspectionRequest, *intakev1.Piece, error) {
	p, err := shop.Piece(e.ctx, c.Piece)
	if err != nil {
		return nil, nil, err
	}
	stage, err := shop.Stage(e.ctx, p, c.Stage)
	if err != nil {
		return nil, nil, err
	}
	who, err := shop.Person(e.ctx, c.Who)
	if err != nil {
		return nil, nil, err
	}
	r := &workflowv1.RecordInspectionRequest{RequestId: c.request(), Stage: stage.Name, Inspector: who.Name,
		Point: strings.ReplaceAll(c.Point, "-", "_"), Note: c.Note}
	for _, text := range c.Defect {
		d, err := defect(p, text)
		if err != nil {
			return nil, nil, err
		}
		r.Defects = append(r.Defects, d)
	}
	r.InspectTime, err = c.at(e.ctx, shop)
	return r, p, err
}

// colons are what divides a defect's words: not those of an address.
var colons = regexp.MustCompile(`:($|[^/]|/($|[^/]))`)

// defect reads KIND[:PART[:PHOTO[:NOTE]]].
func defect(p *intakev1.Piece, text string) (*workflowv1.Defect, error) {
	words := make([]string, 4)
	for i := range words {
		at := colons.FindStringIndex(text)
		if at == nil || i == 3 {
			words[i], text = text, ""
			break
		}
		words[i], text = text[:at[0]], text[at[0]+1:]
	}
	d := &workflowv1.Defect{Kind: strings.ReplaceAll(words[0], "-", "_"), Photo: words[2], Note: words[3]}
	if words[1] == "" {
		return d, nil
	}
	var err error
	d.Part, err = client.Part(p, words[1])
	return d, err
}

// record writes the inspection down.
func (c *inspection) record(e *env, shop *client.Shop, r *workflowv1.RecordInspectionRequest) error {
	resp, err := shop.Inspections.RecordInspection(e.ctx, r)
	if err != nil {
		return err
	}
	return c.print(e, resp, func() error {
		if err := printInspections(e, shop, []*workflowv1.Inspection{resp.Inspection}); err != nil || len(resp.Stages) == 0 {
			return err
		}
		fmt.Fprintln(e.out)
		return printStages(e, shop, resp.Stages)
	})
}

type passCmd struct{ inspection }

func (c *passCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r, _, err := c.ask(e, shop)
		if err != nil {
			return err
		}
		r.Passed = true
		return c.record(e, shop, r)
	})
}

type failCmd struct {
	inspection
	BackTo string `help:"The stage that has to be done again, by its title." required:"" placeholder:"STAGE"`
}

func (c *failCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r, p, err := c.ask(e, shop)
		if err != nil {
			return err
		}
		back, err := shop.Stage(e.ctx, p, c.BackTo)
		if err != nil {
			return err
		}
		r.BackTo = back.Name
		return c.record(e, shop, r)
	})
}

type listInspectionsCmd struct {
	listOutput
	Piece  string `help:"Only of this piece." placeholder:"TAG"`
	Failed bool   `help:"Only those that failed."`
}

func (c *listInspectionsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter := &workflowv1.ListInspectionsRequest{FailedOnly: c.Failed, PageSize: 1000}
		if c.Piece != "" {
			p, err := shop.Piece(e.ctx, c.Piece)
			if err != nil {
				return err
			}
			filter.Piece = p.Name
		}
		all, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.Inspection, string, error) {
			filter.PageToken = token
			r, err := shop.Inspections.ListInspections(ctx, filter)
			return r.GetInspections(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListInspectionsResponse{Inspections: all}, func() error { return printInspections(e, shop, all) })
	})
}

func printInspections(e *env, shop *client.Shop, all []*workflowv1.Inspection) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"when", " piece", "stage", "point", " pass", "who", "found", "back to", "note"}}
	for _, i := range all {
		verdict := "good"
		if !i.Passed {
			verdict = "not good"
		}
		if len(i.Defects) > 0 {
			verdict += ": " + each(i.Defects, found)
		}
		t.Add(terms.Clock(i.InspectTime), fmt.Sprint(i.PieceTag), i.StageTitle, report.Kind(i.Point), fmt.Sprint(i.Pass), i.InspectorName, verdict, i.BackToTitle, i.Note)
	}
	return t.Print(e.out)
}

// found is a defect and where it is, and behind that where its photo is and what was said of it.
func found(d *workflowv1.Defect) string {
	text := strings.TrimSpace(report.Kind(d.Kind) + " " + d.PartLabel)
	var said []string
	if d.Photo != "" {
		said = append(said, "photo "+d.Photo)
	}
	if d.Note != "" {
		said = append(said, d.Note)
	}
	if len(said) == 0 {
		return text
	}
	return text + " (" + strings.Join(said, "; ") + ")"
}
