package cli

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type testCmd struct {
	Lead     leadTestCmd     `cmd:"" help:"Write down a test for lead, or who answers for working on it under controls."`
	Moisture moistureTestCmd `cmd:"" help:"Write down what a moisture meter read."`
	Spot     spotTestCmd     `cmd:"" help:"Write down what a solvent did to a hidden spot, and tell the old finish."`
	List     listTestsCmd    `cmd:"" help:"List what was tested on a piece, newest first."`
}

// testArgs name what is tested.
type testArgs struct {
	Piece string `arg:"" help:"Tag number."`
	Part  string `help:"The part by label; without it, the whole piece." placeholder:"LABEL"`
}

// find gives the names of the piece and of its part, empty for the whole piece.
func (a testArgs) find(ctx context.Context, shop *client.Shop) (piece, part string, err error) {
	p, err := shop.Piece(ctx, a.Piece)
	if err != nil || a.Part == "" {
		return p.GetName(), "", err
	}
	part, err = client.Part(p, a.Part)
	return p.Name, part, err
}

type leadTestCmd struct {
	timed
	testArgs
	Result   string `arg:"" help:"free, found, or accepted: somebody answers for work under controls." enum:"free,found,accepted"`
	Controls string `help:"Of an acceptance: what is done so that nobody is harmed." placeholder:"TEXT"`
	Person   string `help:"Of an acceptance: who answers for it." placeholder:"NAME"`
}

var leadResults = map[string]workflowv1.Lead_Result{
	"free": workflowv1.Lead_RESULT_FREE, "found": workflowv1.Lead_RESULT_FOUND, "accepted": workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS,
}

func (c *leadTestCmd) Run(e *env) error {
	accepted := c.Result == "accepted"
	switch {
	case accepted && (c.Controls == "" || c.Person == ""):
		return errors.New("say with --controls what is done so that nobody is harmed, and with --person who answers for it")
	case !accepted && (c.Controls != "" || c.Person != ""):
		return errors.New("--controls and --person belong to accepted")
	}
	return e.with(func(shop *client.Shop) (err error) {
		r := &workflowv1.RecordLeadTestRequest{RequestId: c.request(), Lead: &workflowv1.Lead{Result: leadResults[c.Result], Controls: c.Controls}}
		if r.Piece, r.Part, err = c.find(e.ctx, shop); err != nil {
			return err
		}
		if accepted {
			who, err := shop.Person(e.ctx, c.Person)
			if err != nil {
				return err
			}
			r.Lead.Person = who.Name
		}
		if r.TestTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Tests.RecordLeadTest(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printTests(e, shop, []*workflowv1.PartTest{resp.Test}) })
	})
}

type moistureTestCmd struct {
	timed
	testArgs
	Percent string `arg:"" help:"What the meter read, such as 11.5."`
	Zone    string `help:"Where it stands, if not where it was put to dry." placeholder:"WORD"`
}

func (c *moistureTestCmd) Run(e *env) error {
	value, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(c.Percent, "%")), 64)
	if err != nil {
		return fmt.Errorf("%q is not a moisture content such as 11.5", c.Percent)
	}
	return e.with(func(shop *client.Shop) (err error) {
		r := &workflowv1.RecordMoistureRequest{RequestId: c.request(), Percent: value, Zone: zoneName(c.Zone)}
		if r.Piece, r.Part, err = c.find(e.ctx, shop); err != nil {
			return err
		}
		if r.TestTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Tests.RecordMoisture(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printTests(e, shop, []*workflowv1.PartTest{resp.Test}) })
	})
}

type spotTestCmd struct {
	timed
	testArgs
	Solvent  string `arg:"" help:"'mineral spirits', 'denatured alcohol' or 'lacquer thinner', in this order."`
	Reaction string `arg:"" help:"none, 'wax comes off', softens, 'turns white' or 'softens but does not dissolve'."`
}

func (c *spotTestCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) (err error) {
		r := &workflowv1.RecordSpotTestRequest{RequestId: c.request(), Solvent: c.Solvent, Reaction: c.Reaction}
		if r.Piece, r.Part, err = c.find(e.ctx, shop); err != nil {
			return err
		}
		if r.TestTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Tests.RecordSpotTest(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintln(e.out, readSpots(resp))
			return err
		})
	})
}

// readSpots says what the spot tests of a part tell together.
func readSpots(r *workflowv1.RecordSpotTestResponse) string {
	var said []string
	if len(r.OldFinishes) > 0 {
		said = append(said, "The old finish is probably "+strings.Join(r.OldFinishes, " or ")+".")
	}
	if r.Waxed {
		said = append(said, "Wax lies on it.")
	}
	if r.NextSolvent != "" {
		said = append(said, "Try "+r.NextSolvent+" next.")
	}
	return strings.Join(append(said, "Because: "+r.Why+"."), " ")
}

type listTestsCmd struct {
	listOutput
	Piece string `arg:"" help:"Tag number."`
}

func (c *listTestsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Tests.ListPartTests(e.ctx, &workflowv1.ListPartTestsRequest{Piece: p.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			if err := printTests(e, shop, resp.Tests); err != nil {
				return err
			}
			return printBelow(e, spotLines(resp.SpotReadings))
		})
	})
}

func printTests(e *env, shop *client.Shop, tests []*workflowv1.PartTest) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"tested", "part", "for", "result", "by"}}
	for _, test := range tests {
		kind, result := tested(test)
		part := test.PartLabel
		if part == "" {
			part = "the whole piece"
		}
		t.Add(terms.Clock(test.TestTime), part, kind, result, test.Actor)
	}
	return t.Print(e.out)
}

// tested says what a test was for and what it came to.
func tested(t *workflowv1.PartTest) (kind, result string) {
	switch r := t.Result.(type) {
	case *workflowv1.PartTest_Moisture:
		return "moisture", readMeter(r.Moisture)
	case *workflowv1.PartTest_Spot:
		return "old finish", r.Spot.Solvent + ": " + r.Spot.Reaction
	case *workflowv1.PartTest_Lead:
		if r.Lead.Result == workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS {
			return "lead", fmt.Sprintf("accepted by %s under controls: %s", r.Lead.PersonName, r.Lead.Controls)
		}
		return "lead", report.Kind(strings.ToLower(strings.TrimPrefix(r.Lead.Result.String(), "RESULT_")))
	}
	return "", ""
}

func readMeter(m *workflowv1.Moisture) string {
	said := strconv.FormatFloat(m.Percent, 'f', -1, 64) + " %, too wet"
	if m.Dry {
		said = strconv.FormatFloat(m.Percent, 'f', -1, 64) + " %, dry"
	}
	if m.EquilibriumPercent == 0 {
		return said
	}
	return fmt.Sprintf("%s; in that air wood comes to %.1f %%", said, m.EquilibriumPercent)
}
