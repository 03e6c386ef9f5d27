package day

import (
	"cmp"
	"slices"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// ready is what could be begun now.
type ready struct {
	Nobodys, Given         []readyStage
	MoreNobodys, MoreGiven int
}

// All is how many there are.
func (r ready) All() int { return len(r.Nobodys) + r.MoreNobodys + len(r.Given) + r.MoreGiven }

// readyStage is a stage that is ready to work.
type readyStage struct {
	Tag     int32
	Title   string
	Stage   string
	Name    string // pieces/{piece}/stages/{id}
	Product string
	Whose   []string
	Where   []string // stations where its piece stands
	Promise *timestamppb.Timestamp
	Closes  *timestamppb.Timestamp // from then on the film must be scuffed first
	Rework  bool
	Batched bool
}

// mostReady bounds each of the two lists: the rest is one click away.
const mostReady = 20

// ready are the stages that could be begun, those whose window closes or whose piece is promised
// soonest first.
func (f *floorFacts) ready() (out ready) {
	where := f.where()
	for _, l := range f.board {
		for _, n := range l.Next {
			if n.State != workflowv1.Stage_STATE_READY || len(n.OnTheClock) > 0 {
				continue
			}
			it := f.readyStage(l, n, where)
			if len(it.Whose) == 0 {
				out.Nobodys = append(out.Nobodys, it)
			} else {
				out.Given = append(out.Given, it)
			}
		}
	}
	slices.SortStableFunc(out.Nobodys, sooner)
	slices.SortStableFunc(out.Given, sooner)
	out.Nobodys, out.MoreNobodys = atMost(out.Nobodys, mostReady)
	out.Given, out.MoreGiven = atMost(out.Given, mostReady)
	return out
}

func (f *floorFacts) readyStage(l *workflowv1.BoardLine, n *workflowv1.BoardLine_Next, where map[string]string) readyStage {
	it := readyStage{Tag: l.PieceTag, Title: f.called[l.Piece].Title, Stage: stageIn(f.voice, n.Kind, n.Title), Name: n.Stage, Product: n.ProductName, Whose: n.Assigned,
		Where: places(l, where), Promise: l.PromiseTime, Rework: n.Pass > 1, Batched: n.Batch != ""}
	if n.WindowCloseTime != nil && n.WindowCloseTime.AsTime().After(f.now) {
		it.Closes = n.WindowCloseTime
	}
	return it
}

// where are the stations' own names by stations/{word}.
func (f *floorFacts) where() map[string]string {
	out := map[string]string{}
	for _, s := range f.stations {
		out[s.Name] = s.DisplayName
	}
	return out
}

// places are where a piece stands, each once.
func places(l *workflowv1.BoardLine, names map[string]string) (out []string) {
	for _, p := range l.Placements {
		name := names[p.Station]
		if p.Firm != "" {
			name = p.Firm
		}
		if name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

func sooner(a, b readyStage) int {
	return cmp.Or(byTime(a.Closes, b.Closes), byTime(a.Promise, b.Promise), cmp.Compare(a.Tag, b.Tag))
}

// byTime orders instants; none comes last.
func byTime(a, b *timestamppb.Timestamp) int {
	never := time.Unix(1<<40, 0)
	at := func(t *timestamppb.Timestamp) time.Time {
		if t == nil {
			return never
		}
		return t.AsTime()
	}
	return at(a).Compare(at(b))
}
