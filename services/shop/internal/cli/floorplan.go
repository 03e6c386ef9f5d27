package cli

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type floorPlanGroup struct {
	Show    floorPlanCmd   `cmd:"" default:"withargs" help:"Say who does what, where and when. The word show can be left out."`
	Propose proposePlanCmd `cmd:"" help:"Look for a better plan, and say what would change."`
	Publish publishPlanCmd `cmd:"" help:"Make a plan that was proposed the one that people know: what begins soon is assigned as it says."`
}

type floorPlanCmd struct {
	listOutput
	Who string `arg:"" optional:"" help:"Display name of whose work is shown; without it, everybody's."`
}

func (c *floorPlanCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.GetFloorPlanRequest{}
		if c.Who != "" {
			who, err := shop.Person(e.ctx, c.Who)
			if err != nil {
				return err
			}
			r.Person = who.Name
		}
		resp, err := shop.Planning.GetFloorPlan(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printFloorPlan(e, shop, resp.Plan) })
	})
}

// printFloorPlan prints who does what by person and time, what has no place, and what becomes of promises.
func printFloorPlan(e *env, shop *client.Shop, p *workflowv1.FloorPlan) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	stages := slices.Clone(p.GetStages())
	slices.SortStableFunc(stages, func(a, b *workflowv1.PlacedStage) int { return cmp.Compare(a.PersonName, b.PersonName) })
	t := &report.Table{Headings: []string{"person", "from", "to", " piece", "stage", "station", "remark"}}
	for _, s := range stages {
		t.Add(orDash(s.PersonName), terms.Clock(s.StartTime), terms.Clock(s.EndTime), fmt.Sprint(s.PieceTag), s.Title, orDash(s.StationName), plannedRemark(terms, s))
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	if p.PublishTime != nil {
		fmt.Fprintf(e.out, "Published %s.\n", terms.Clock(p.PublishTime))
	}
	for _, u := range p.GetUnplaced() {
		fmt.Fprintf(e.out, "Piece %d: %s\n", u.PieceTag, u.Text)
	}
	for _, s := range p.GetStages() {
		if s.WindowText != "" {
			fmt.Fprintf(e.out, "Piece %d: %s\n", s.PieceTag, s.WindowText)
		}
	}
	return printOutlooks(e, terms, p.GetPieces())
}

// plannedRemark is what is to be known of a planned stage beside its place.
func plannedRemark(terms client.Terms, s *workflowv1.PlacedStage) string {
	var said []string
	for _, r := range []struct {
		so   bool
		text string
	}{{s.InWork, "in work"}, {s.Assigned && !s.InWork, "assigned"}, {s.PersonPinned || s.TimePinned, "pinned"}, {s.WindowMissed, "scuff it first"}} {
		if r.so {
			said = append(said, r.text)
		}
	}
	if s.DryTime != nil {
		said = append(said, "dries until "+terms.Clock(s.DryTime))
	}
	if known := knownOf(terms, s); known != "" {
		said = append(said, known)
	}
	if s.HeldPersonName != "" {
		said = append(said, "still "+s.HeldPersonName+"'s: publish to give it")
	}
	return strings.Join(said, ", ")
}

// knownOf is what people know of a stage that is elsewhere now; empty: it is as they know it.
func knownOf(terms client.Terms, s *workflowv1.PlacedStage) string {
	var what []string
	if s.PublishedPerson != s.Person && s.PublishedPersonName != "" {
		what = append(what, s.PublishedPersonName)
	}
	if s.PublishedStartTime != nil {
		what = append(what, terms.Clock(s.PublishedStartTime))
	}
	if len(what) == 0 {
		return ""
	}
	return "was published: " + strings.Join(what, ", ")
}

// printOutlooks prints what becomes of the pieces that are promised.
func printOutlooks(e *env, terms client.Terms, all []*workflowv1.PieceOutlook) error {
	t := &report.Table{Headings: []string{" piece", "promised", "done", "nine in ten by", " chance"}}
	some := false
	for _, o := range all {
		if o.PromiseTime != nil {
			some = true
			t.Add(fmt.Sprint(o.PieceTag), terms.Clock(o.PromiseTime), doneByPlan(terms, o), clockOrDash(terms, o.LateTime), chanceOf(o))
		}
	}
	if !some {
		return nil
	}
	fmt.Fprintln(e.out)
	return t.Print(e.out)
}

// doneByPlan is when a piece is done by the plan, where all its stages have a place.
func doneByPlan(terms client.Terms, o *workflowv1.PieceOutlook) string {
	if o.GetEndTime() == nil {
		return "no place"
	}
	return terms.Clock(o.EndTime)
}

// chanceOf is how likely a promise is kept; there is none of a piece that is not planned to its end.
func chanceOf(o *workflowv1.PieceOutlook) string {
	if o.GetPromiseTime() == nil || o.EndTime == nil {
		return "–"
	}
	return likely(o.Chance)
}

// likely writes a chance as inPercent does; but nothing is so sure that it is all.
func likely(chance float64) string {
	if chance > 0.995 {
		return "over 99 %"
	}
	return inPercent(chance)
}
