package cli

import (
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

// mostMoves is how many moved stages are named.
const mostMoves = 30

// printMoves names the stages that a plan has elsewhere than people know, or than the plan of now has them, by when they
// expect them; of all days, where a plan's cost counts those of two.
func printMoves(e *env, shop *client.Shop, p *workflowv1.FloorPlan, heading, was string) error {
	moved := slices.DeleteFunc(slices.Clone(p.GetStages()), func(s *workflowv1.PlacedStage) bool {
		return s.PublishedStartTime == nil && s.PublishedPersonName == ""
	})
	if len(moved) == 0 {
		return nil
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	slices.SortStableFunc(moved, func(a, b *workflowv1.PlacedStage) int {
		return a.PublishedStartTime.AsTime().Compare(b.PublishedStartTime.AsTime())
	})
	fmt.Fprintf(e.out, "\n%s:\n", heading)
	t := &report.Table{Headings: []string{" piece", "stage", was + " → would be"}}
	for _, s := range moved[:min(len(moved), mostMoves)] {
		t.Add(fmt.Sprint(s.PieceTag), s.Title, whoWhen(terms, s.PublishedPersonName, s.PublishedStartTime)+" → "+whoWhen(terms, s.PersonName, s.StartTime))
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	if more := len(moved) - mostMoves; more > 0 {
		fmt.Fprintf(e.out, "and %d more\n", more)
	}
	return nil
}

// whoWhen names somebody, or nobody, and a time, in short: a plan looks three weeks ahead.
func whoWhen(terms client.Terms, who string, at *timestamppb.Timestamp) string {
	if who == "" {
		who = "nobody"
	}
	if at == nil {
		return who
	}
	return strings.Join([]string{who, at.AsTime().In(terms.Zone).Format("Mon 2 Jan 15:04")}, " ")
}
