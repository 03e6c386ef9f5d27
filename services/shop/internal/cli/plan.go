package cli

import (
	"fmt"
	"strings"
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type planGroupCmd struct {
	Solve   solvePlanCmd   `cmd:"" default:"withargs" help:"Plan a floor, a job shop or a project from a file; needs no shop. The word solve can be left out."`
	Draft   draftPlanCmd   `cmd:"" help:"Make a draft from a file that says what the parts are and are to become."`
	Show    showPlanCmd    `cmd:"" help:"Show the newest plan of a piece, or one version of it."`
	Check   checkPlanCmd   `cmd:"" help:"List the rules that a plan breaks; changes nothing."`
	Approve approvePlanCmd `cmd:"" help:"Make the draft the piece's stages."`
	Amend   amendPlanCmd   `cmd:"" help:"Make a new version of an approved plan; what was begun stays. Without --stages: by what data sheets and tests now say."`
}

type draftPlanCmd struct {
	command
	explained
	Piece string `arg:"" help:"Tag number."`
	File  string `arg:"" type:"existingfile" help:"As for plan-finish; of each product its name on the shelf is enough, and of a part what is not said of it is taken from its assessment."`
	Zone  string `help:"Where coats dry, by the zone's word." placeholder:"WORD"`
}

func (c *draftPlanCmd) Run(e *env) error {
	f, err := readPlanFile(c.File)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		r := &workflowv1.DraftFinishPlanRequest{RequestId: c.request(), Piece: p.Name, Zone: zoneName(c.Zone)}
		if err := f.wishes(e.ctx, shop, p, r); err != nil {
			return err
		}
		resp, err := shop.Finish.DraftFinishPlan(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			if err := printTaken(e, resp.FromAssessments); err != nil {
				return err
			}
			return c.printPlan(e, resp.Plan)
		})
	})
}

type showPlanCmd struct {
	listOutput
	explained
	Piece   string `arg:"" help:"Tag number."`
	Version int32  `help:"Which; without it the newest." placeholder:"NUMBER"`
}

func (c *showPlanCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		name := p.Name
		if c.Version > 0 {
			name = fmt.Sprintf("%s/finishPlans/%d", p.Name, c.Version)
		}
		resp, err := shop.Finish.GetFinishPlan(e.ctx, &workflowv1.GetFinishPlanRequest{Name: name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return c.printPlan(e, resp.Plan) })
	})
}

// explained is what every command that shows a plan takes.
type explained struct {
	Explain bool `help:"Say of each stage why it is there."`
}

// printPlan writes a plan as a table, and under it what it breaks, takes and can do harm by.
func (c explained) printPlan(e *env, p *workflowv1.FinishPlan) error {
	state := strings.ToLower(strings.TrimPrefix(p.State.String(), "STATE_"))
	if _, err := fmt.Fprintf(e.out, "Version %d, %s: %d stages, %s hands-on (%s to %s nine times in ten)\n\n", p.Version, state, len(p.Stages),
		minutesLong(p.AttendedMinutes), minutesLong(p.AttendedMinutesLow), minutesLong(p.AttendedMinutesHigh)); err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"part", "stage", "with", "skill", "where", " hands-on", " then dries", "needs below"}}
	if c.Explain {
		t.Headings = append(t.Headings, "because")
	}
	for _, s := range p.Stages {
		row := []string{s.PartLabel, s.Key, s.Grit + s.ProductName, s.Skill, s.Station, minutesLong(s.AttendedMinutes), minutesLong(s.UnattendedMinutes), needsBelow(s.Needs)}
		if c.Explain {
			row = append(row, s.Why)
		}
		t.Add(row...)
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	if err := printFindings(e, p.Findings); err != nil {
		return err
	}
	if err := printNeeds(e, p.Needs); err != nil {
		return err
	}
	return printCautions(e, p.Stages)
}

func minutesLong(n int32) string {
	if n == 0 {
		return ""
	}
	return report.Length(time.Duration(n) * time.Minute)
}

func needsBelow(s workflowv1.DryState) string {
	switch s {
	case workflowv1.DryState_DRY_STATE_SAND:
		return "dry to sand"
	case workflowv1.DryState_DRY_STATE_RECOAT:
		return "dry to recoat"
	case workflowv1.DryState_DRY_STATE_CURED:
		return "cured"
	}
	return ""
}

// printFindings prints each rule that is broken, the gravest first as they come.
func printFindings(e *env, findings []*workflowv1.Finding) error {
	for _, f := range findings {
		severity := strings.ToUpper(strings.TrimPrefix(f.Rule.Severity.String(), "SEVERITY_"))
		if _, err := fmt.Fprintf(e.out, "\n%s at %s: %s (%s)\n  %s %s\n", severity, f.Stage, f.Rule.Says, bare(f.Rule.Name), f.Rule.Why, f.Rule.Instead); err != nil {
			return err
		}
		if o := f.Override; o != nil {
			if _, err := fmt.Fprintf(e.out, "  %s answers for it: %s\n", o.PersonName, o.Reason); err != nil {
				return err
			}
		}
	}
	return nil
}

func printNeeds(e *env, needs []*workflowv1.MaterialNeed) error {
	if len(needs) == 0 {
		return nil
	}
	t := &report.Table{Headings: []string{"product", " takes", " on hand", " short"}}
	for _, n := range needs {
		t.Add(n.ProductName, report.Quantity(n.Needed), report.Quantity(n.OnHand), report.Quantity(n.Short))
	}
	if _, err := fmt.Fprintln(e.out); err != nil {
		return err
	}
	return t.Print(e.out)
}

// printCautions prints each caution once.
func printCautions(e *env, stages []*workflowv1.PlannedStage) error {
	seen := map[string]bool{}
	for _, s := range stages {
		for _, c := range s.Cautions {
			if seen[c.Id] {
				continue
			}
			seen[c.Id] = true
			if _, err := fmt.Fprintf(e.out, "\n%s: %s\n", strings.ToUpper(c.Id), c.Text); err != nil {
				return err
			}
		}
	}
	return nil
}
