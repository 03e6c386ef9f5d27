package plan

import (
	"slices"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/words"
)

// mostMoves is how many moved stages a page names.
const mostMoves = 30

// moves are the stages that a plan has elsewhere than people know, of all days.
type moves struct {
	Named []*bar
	More  int // that are not named
}

// movesOf finds them, by when people expect them.
func movesOf(p *workflowv1.FloorPlan, v *words.Voice) (out moves) {
	for _, s := range p.GetStages() {
		if s.PublishedStartTime != nil || s.PublishedPersonName != "" {
			out.Named = append(out.Named, barOf(s, v))
		}
	}
	slices.SortStableFunc(out.Named, func(a, b *bar) int {
		return a.PublishedStartTime.AsTime().Compare(b.PublishedStartTime.AsTime())
	})
	out.More = max(0, len(out.Named)-mostMoves)
	out.Named = out.Named[:len(out.Named)-out.More]
	return out
}

// Was is who people think does it, and when.
func (b *bar) Was(v *words.Voice, now time.Time) string {
	return whoWhen(v, b.PublishedPersonName, b.PublishedStartTime, now)
}

// Is is who does it by the plan, and when.
func (b *bar) Is(v *words.Voice, now time.Time) string {
	return whoWhen(v, b.PersonName, b.StartTime, now)
}

// whoWhen names somebody, or nobody, and a time.
func whoWhen(v *words.Voice, who string, at *timestamppb.Timestamp, now time.Time) string {
	if who == "" {
		who = v.T("plan.none.person")
	}
	if at == nil {
		return who
	}
	return strings.Join([]string{who, v.When(at, now)}, " ")
}
