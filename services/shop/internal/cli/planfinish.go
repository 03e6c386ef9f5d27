package cli

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/services/shop/internal/report"
)

type planFinishCmd struct {
	output
	File    string `arg:"" type:"existingfile" help:"The piece as JSON: its products and parts; testdata/plans has examples."`
	Explain bool   `help:"Say of each stage why it is there."`
}

func (c *planFinishCmd) Run(e *env) error {
	f, err := readPlanFile(c.File)
	if err != nil {
		return err
	}
	palette, err := f.palette()
	if err != nil {
		return err
	}
	parts, err := f.parts()
	if err != nil {
		return err
	}
	stages, err := finish.PlanPiece(parts, palette)
	if bad := fault.Of(err); bad != nil && len(bad.Fields) > 0 {
		return inFile(bad.Fields[0].Path, err)
	}
	if err != nil {
		return err
	}
	findings, err := finish.CheckPiece(parts, stages)
	if err != nil {
		return err
	}
	if c.JSON {
		b, err := json.Marshal(planned{f.Piece, plannedStages(stages), plannedAmounts(stages), plannedFindings(stages, findings)})
		if err != nil {
			return err
		}
		return writeJSON(e.out, b)
	}
	return c.print(e, f.Piece, stages, findings)
}

// print writes the plan as a table, under it what it takes of each product, what is worth
// knowing of it, and what can hurt somebody.
func (c *planFinishCmd) print(e *env, piece string, stages []finish.Stage, findings []finish.PieceFinding) error {
	t := &report.Table{Headings: []string{"part", "stage", "with", "skill", "at", "needs below", " hands-on", " then waits", " next coat by", " takes"}}
	if c.Explain {
		t.Headings = append(t.Headings, "because")
	}
	var handsOn time.Duration
	for _, s := range stages {
		row := []string{s.Part, s.Key, with(s.Step), s.Skill, s.Station, dryness[s.Needs], report.Length(s.Attended), waits(s.Step.Wait), waits(s.Latest), litres(s.Litres)}
		if c.Explain {
			row = append(row, s.Step.Why)
		}
		t.Add(row...)
		handsOn += s.Attended
	}
	if _, err := fmt.Fprintf(e.out, "%s: %d stages, %s hands-on\n\n", piece, len(stages), report.Length(handsOn)); err != nil {
		return err
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	if err := printAmounts(e, stages); err != nil {
		return err
	}
	if err := printNotes(e, stages, findings); err != nil {
		return err
	}
	return printHazards(e, stages)
}

// printNotes prints each rule that the plan breaks once, with the stages at which it does.
func printNotes(e *env, stages []finish.Stage, findings []finish.PieceFinding) error {
	at := map[string][]string{}
	for _, f := range findings {
		at[f.Rule.ID] = append(at[f.Rule.ID], stages[f.Stage].Title())
	}
	for _, f := range findings {
		titles := at[f.Rule.ID]
		if titles == nil {
			continue // it was printed
		}
		at[f.Rule.ID] = nil
		r := f.Rule
		if _, err := fmt.Fprintf(e.out, "\n%s at %s: %s (%s)\n  %s %s\n", strings.ToUpper(string(r.Severity)), strings.Join(titles, ", "), r.Says, r.ID, r.Why, r.Instead); err != nil {
			return err
		}
	}
	return nil
}

// dryness is how a person says what a stage needs of the film below.
var dryness = map[finish.Needs]string{finish.NeedsSand: "dry to sand", finish.NeedsRecoat: "dry to recoat", finish.NeedsCured: "cured"}

// printAmounts prints what the stages take of each product.
func printAmounts(e *env, stages []finish.Stage) error {
	t := &report.Table{Headings: []string{"takes of", " coats", " together"}}
	for _, a := range finish.Amounts(stages) {
		together := litres(a.Litres)
		if together == "" {
			together = "not known"
		}
		t.Add(a.Product.Name, fmt.Sprint(a.Stages), together)
	}
	if _, err := fmt.Fprintln(e.out); err != nil {
		return err
	}
	return t.Print(e.out)
}

// litres is an amount; nothing where it is not known.
func litres(l float64) string {
	if l == 0 {
		return ""
	}
	return fmt.Sprintf("%.3f L", l)
}

// printHazards prints each caution once.
func printHazards(e *env, stages []finish.Stage) error {
	var seen []finish.Hazard
	for _, s := range stages {
		for _, h := range s.Hazards {
			if !slices.Contains(seen, h) {
				seen = append(seen, h)
			}
		}
	}
	for _, h := range seen {
		if _, err := fmt.Fprintf(e.out, "\n%s: %s\n", strings.ToUpper(h.ID), h.Text); err != nil {
			return err
		}
	}
	return nil
}

// with is what a step is done with.
func with(s finish.Step) string {
	if s.Grit != (finish.Grit{}) {
		return s.Grit.String()
	}
	return s.Product.Name
}

// waits is the unattended time after a step; none is left out.
func waits(d time.Duration) string {
	if d == 0 {
		return ""
	}
	return report.Length(d)
}
