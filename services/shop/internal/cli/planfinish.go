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
	if c.JSON {
		b, err := json.Marshal(planned{f.Piece, plannedStages(stages)})
		if err != nil {
			return err
		}
		return writeJSON(e.out, b)
	}
	return c.print(e, f.Piece, stages)
}

// print writes the plan as a table, and under it what can hurt somebody.
func (c *planFinishCmd) print(e *env, piece string, stages []finish.Stage) error {
	t := &report.Table{Headings: []string{"part", "stage", "with", "skill", " hands-on", " then waits"}}
	if c.Explain {
		t.Headings = append(t.Headings, "because")
	}
	var handsOn time.Duration
	for _, s := range stages {
		row := []string{s.Part, s.Key, with(s.Step), s.Skill, report.Length(s.Attended), waits(s.Step.Wait)}
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
	return printHazards(e, stages)
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

// planned is the plan as a script reads it.
type planned struct {
	Piece  string         `json:"piece"`
	Stages []plannedStage `json:"stages"`
}

type plannedStage struct {
	Part     string   `json:"part"`
	Key      string   `json:"key"`
	Kind     string   `json:"kind"`
	Grit     string   `json:"grit"`
	Product  string   `json:"product"`
	Skill    string   `json:"skill"`
	Attended float64  `json:"attended_minutes"`
	Wait     float64  `json:"wait_minutes"`
	After    []int    `json:"after"`
	Cautions []string `json:"cautions"`
	Why      string   `json:"why"`
}

func plannedStages(stages []finish.Stage) []plannedStage {
	out := make([]plannedStage, len(stages))
	for i, s := range stages {
		p := plannedStage{Part: s.Part, Key: s.Key, Kind: string(s.Step.Kind), Product: s.Step.Product.Name, Skill: s.Skill, Attended: s.Attended.Minutes(),
			Wait: s.Step.Wait.Minutes(), After: append([]int{}, s.After...), Cautions: []string{}, Why: s.Step.Why}
		if s.Step.Grit != (finish.Grit{}) {
			p.Grit = s.Step.Grit.String()
		}
		for _, h := range s.Hazards {
			p.Cautions = append(p.Cautions, h.ID)
		}
		out[i] = p
	}
	return out
}
