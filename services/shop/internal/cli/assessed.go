package cli

import (
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type assessmentCmd struct {
	listOutput
	Piece string `arg:"" help:"Tag number."`
}

func (c *assessmentCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Assessments.GetAssessment(e.ctx, &intakev1.GetAssessmentRequest{Piece: p.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			if err := printAssessments(e, resp.Parts); err != nil {
				return err
			}
			return printTested(e, shop, p.Name)
		})
	})
}

// printAssessments writes parts as a table, and under it their defects and what sanding may take.
func printAssessments(e *env, parts []*intakev1.PartAssessment) error {
	t := &report.Table{Headings: []string{"part", "made of", "old finish", "put on", "condition", "looked at by"}}
	defects := &report.Table{Headings: []string{"part", "defect", "how bad", "where", " photos", "note"}}
	var below []string
	damaged := false
	for _, a := range parts {
		s := a.Seen
		if s == nil {
			t.Add(a.PartLabel, "nobody looked yet", "", "", "", "")
			continue
		}
		t.Add(a.PartLabel, strings.TrimSpace(s.Species+" "+s.Material), onIt(s), putOn(s), conditionWord(s.Condition), a.Actor)
		damaged = damaged || len(s.Defects) > 0
		for _, d := range s.Defects {
			defects.Add(a.PartLabel, d.Kind, severityWord(d.Severity), d.Where, fmt.Sprint(len(d.Photos)), d.Note)
		}
		if f := a.VeneerFloor; f != nil {
			below = append(below, sandable(a.PartLabel, f))
		}
		if s.Note != "" {
			below = append(below, a.PartLabel+": "+oneLine(s.Note))
		}
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	if damaged {
		_, _ = fmt.Fprintln(e.out)
		if err := defects.Print(e.out); err != nil {
			return err
		}
	}
	return printBelow(e, below)
}

// printBelow writes lines under a table, after an empty one.
func printBelow(e *env, lines []string) error {
	if len(lines) == 0 {
		return nil
	}
	_, err := fmt.Fprintf(e.out, "\n%s\n", strings.Join(lines, "\n"))
	return err
}

func conditionWord(c typev1.PieceCondition) string {
	if c == typev1.PieceCondition_PIECE_CONDITION_UNSPECIFIED {
		return orDash("")
	}
	return enumWord("PIECE_CONDITION_", c.String())
}

// onIt says what lies on a part and in it.
func onIt(s *intakev1.PartSeen) string {
	said := []string{s.OldFinish}
	if s.Waxed {
		said = append(said, "waxed")
	}
	if s.OldStain {
		said = append(said, "stained")
	}
	return strings.Join(said, ", ")
}

func putOn(s *intakev1.PartSeen) string {
	switch {
	case s.PaintedIn == 0:
		return orDash("")
	case s.PaintedInDecade:
		return fmt.Sprintf("%ds", s.PaintedIn)
	}
	return fmt.Sprint(s.PaintedIn)
}

func severityWord(s intakev1.PartDefect_Severity) string {
	return map[intakev1.PartDefect_Severity]string{intakev1.PartDefect_SEVERITY_SLIGHT: "slight", intakev1.PartDefect_SEVERITY_TO_MEND: "to mend",
		intakev1.PartDefect_SEVERITY_SPOILS_PART: "spoils the part"}[s]
}

// sandable says how much of a veneer may be sanded off, and by what.
func sandable(part string, f *intakev1.VeneerFloor) string {
	thick := f.Thickness.GetValue() + " mm as measured"
	if f.Presumed {
		thick = f.Thickness.GetValue() + " mm presumed, for nobody measured it"
	}
	return fmt.Sprintf("%s: of the veneer (%s) at most %s mm may be sanded off, for %s mm must stay (%s, %s). What was sanded off since is not counted.",
		part, thick, f.Sandable.GetValue(), f.Floor.GetValue(), bare(f.Rule), f.Source)
}

// printTested writes what was tested of the piece: lead, moisture, and what the spot tests say together.
func printTested(e *env, shop *client.Shop, piece string) error {
	resp, err := shop.Tests.ListPartTests(e.ctx, &workflowv1.ListPartTestsRequest{Piece: piece})
	if err != nil {
		return err
	}
	if len(resp.Tests) == 0 {
		return printBelow(e, []string{"Nothing was tested yet; an old coating is presumed to hold lead until it was."})
	}
	_, _ = fmt.Fprintln(e.out)
	if err := printTests(e, shop, resp.Tests); err != nil {
		return err
	}
	return printBelow(e, spotLines(resp.SpotReadings))
}

// printTaken says what a draft took of parts from their assessments, in the words of a plan's file.
func printTaken(e *env, taken []*workflowv1.TakenFromAssessment) error {
	for _, a := range taken {
		if _, err := fmt.Fprintf(e.out, "Of %s taken from the assessment by %s: %s.\n", a.PartLabel, a.Actor, strings.Join(a.Fields, ", ")); err != nil {
			return err
		}
	}
	return nil
}

// spotLines says of each part what its spot tests tell together.
func spotLines(readings []*workflowv1.SpotReading) (lines []string) {
	for _, r := range readings {
		part := r.PartLabel
		if part == "" {
			part = "the whole piece"
		}
		lines = append(lines, part+": "+readSpots(&workflowv1.RecordSpotTestResponse{OldFinishes: r.OldFinishes, Waxed: r.Waxed, NextSolvent: r.NextSolvent, Why: r.Why}))
	}
	return lines
}
