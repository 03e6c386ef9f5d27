package pieces

import (
	"fmt"
	"slices"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/words"
)

// line is one piece of the list.
type line struct {
	Tag     int32
	Title   string
	Kind    string
	Client  string // empty: a stock piece
	State   string // one of states
	Class   string // how a state looks
	GivenUp bool   // and others still have something of it
	Where   []string
	Next    []next
	More    int // stages that come next beside those
	Done    int32
	Stages  int32
	Layers  string // how wide the finished part is drawn, in percent
	Promise *timestamppb.Timestamp
	Mend    bool // it is sold, and here to be mended
}

// next is a stage that comes next.
type next struct {
	Stage string
	Whose []string
	Ready *timestamppb.Timestamp // of one that dries
}

// mostNext is how many stages of a piece a line names.
const mostNext = 2

var stateWords = map[workflowv1.BoardLine_State]struct{ word, class string }{
	workflowv1.BoardLine_STATE_IN_WORK: {"in_work", "work"}, workflowv1.BoardLine_STATE_READY: {"ready", "ready"}, workflowv1.BoardLine_STATE_DRYING: {"drying", "dry"},
	workflowv1.BoardLine_STATE_AWAY: {"away", "wait"}, workflowv1.BoardLine_STATE_UNPLANNED: {"unplanned", "wait"}, workflowv1.BoardLine_STATE_DONE: {"done", "done"},
	workflowv1.BoardLine_STATE_SOLD: {"sold", "done"}, workflowv1.BoardLine_STATE_SCRAPPED: {"scrapped", "late"},
}

// lineOf is a piece's line. Of one that is gone, sold or invoiced, nothing is to be done next, whatever was left to do.
func lineOf(v *words.Voice, l *workflowv1.BoardLine, p titles.Piece, stations map[string]string, gone bool) line {
	state := stateWords[l.State]
	it := line{Tag: l.PieceTag, Title: p.Title, Client: p.Client, State: state.word, Class: state.class, Promise: l.PromiseTime,
		GivenUp: l.Scrapped && l.State != workflowv1.BoardLine_STATE_SCRAPPED, Done: l.FinishedStages, Stages: l.Stages, Mend: l.Comeback != ""}
	if p.Kind != "" {
		it.Kind = v.Word("piece", p.Kind)
	}
	if l.Stages > 0 {
		it.Layers = fmt.Sprintf("%d%%", l.FinishedStages*100/l.Stages)
	}
	for _, at := range l.Placements {
		name := stations[at.Station]
		if at.Firm != "" {
			name = at.Firm
		}
		if name != "" && !slices.Contains(it.Where, name) {
			it.Where = append(it.Where, name)
		}
	}
	if gone {
		it.State, it.Class, it.Promise = "sold", "done", nil
		return it
	}
	for i, n := range l.Next {
		if i == mostNext {
			it.More = len(l.Next) - mostNext
			break
		}
		it.Next = append(it.Next, nextOf(v, n))
	}
	return it
}

func nextOf(v *words.Voice, n *workflowv1.BoardLine_Next) next {
	it := next{Stage: v.StageTitle(n.Kind, n.Title), Whose: n.Assigned, Ready: n.ReadyTime}
	if len(n.OnTheClock) > 0 {
		it.Whose = n.OnTheClock
	}
	return it
}
