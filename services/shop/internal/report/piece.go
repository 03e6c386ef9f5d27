package report

import (
	"fmt"
	"io"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Piece prints the cost sheet of one piece, who worked on it, and what is missing.
func Piece(w io.Writer, p *costingv1.PieceCost) error {
	fmt.Fprintf(w, "%d  %s, %s\n\n", p.Tag, p.Title, StateOf(p))
	t := &Table{Headings: []string{"", " hours", " amount"}}
	t.Add("revenue", "", Money(p.GetSums().GetRevenue()))
	addCosts(t, p.GetSums())
	t.Add(costTitle(p), "", Money(p.GetSums().GetCost()))
	t.Add("channel fees", "", Money(p.GetSums().GetFees()))
	t.Add()
	profit, perHour := ProfitOf(p)
	t.Add("profit", "", profit)
	t.Add("profit per labour hour", "", perHour)
	if err := t.Print(w); err != nil {
		return err
	}
	fmt.Fprintln(w)
	if err := labour(w, p.LabourLines); err != nil {
		return err
	}
	for _, reason := range p.ProvisionalReasons {
		fmt.Fprintf(w, "\nNot final: %s.\n", reason)
	}
	return nil
}

// costTitle is what the sum of what was spent is called: until a piece has come to its end and nothing
// is missing, more comes to it.
func costTitle(p *costingv1.PieceCost) string {
	if done(p) && !p.Provisional {
		return "cost"
	}
	return "cost so far"
}

func labour(w io.Writer, lines []*costingv1.LabourLine) error {
	t := &Table{Headings: []string{"who", "stage", " hours", " cost", ""}}
	for _, l := range lines {
		remark := ""
		if l.Rework {
			remark = "rework"
		}
		t.Add(l.PersonName, stageOf(l), Hours(l.Time), Money(l.Cost), remark)
	}
	return t.Print(w)
}

// stageOf is what people call the stage of a line; its kind where costing does not know.
func stageOf(l *costingv1.LabourLine) string {
	switch {
	case l.StageKey == "":
		return Kind(l.StageKind)
	case l.PartLabel == "":
		return l.StageKey
	}
	return l.StageKey + " (" + l.PartLabel + ")"
}
