package materials

import (
	"time"

	"tackfree/pkg/id"
)

// handsOfDay is by how much longer than itself hands-on work takes on the calendar: eight hours of
// it make a day. Common practice; what dries does so around the clock.
const handsOfDay = 24 / 8

// span is how long a stage takes on the calendar until the next can begin.
func (s PlannedStage) span() time.Duration { return handsOfDay*s.Attended + s.Unattended }

// Reckon works out when each open need can be wanted: after the longest of the ways that lead to
// it through what is not finished, from when the rest was finished and had dried, or from when
// the work was laid out; and, of what is promised, before the longest way that leads on from it.
func (p *PieceNeeds) Reckon() {
	w := ways{PieceNeeds: p, to: map[id.ID]Due{}, on: map[id.ID]time.Duration{}}
	for _, s := range p.Stages {
		n, known := p.Needs[s.key()]
		if !known || n.State != NeedOpen {
			continue
		}
		n.Due = w.before(s)
		if !p.PromisedAt.IsZero() {
			n.Latest = p.PromisedAt.Add(-w.from(s))
		}
		p.put(n)
	}
}

// ways remembers what was reckoned of each stage. A stage is there before what leads to it is
// reckoned, so that stages that went round in a circle would not go on for ever.
type ways struct {
	*PieceNeeds
	to map[id.ID]Due
	on map[id.ID]time.Duration
}

// before is when a stage that is not finished can begin.
func (w ways) before(s PlannedStage) Due {
	if d, known := w.to[s.ID]; known {
		return d
	}
	d := Due{Soonest: w.PlannedAt}
	w.to[s.ID] = d
	for _, i := range s.After {
		b := w.stage(i)
		switch {
		case b == nil:
		case !b.DoneAt.IsZero():
			d.Soonest = later(d.Soonest, b.DoneAt.Add(b.Unattended))
		default:
			way := w.before(*b)
			d.Soonest, d.Work = later(d.Soonest, way.Soonest.Add(b.span())), max(d.Work, way.Work+b.span())
		}
	}
	w.to[s.ID] = d
	return d
}

// from is how long it takes from the beginning of a stage to the end of all that comes after it.
func (w ways) from(s PlannedStage) time.Duration {
	if d, known := w.on[s.ID]; known {
		return d
	}
	w.on[s.ID] = s.span()
	longest := time.Duration(0)
	for _, next := range w.Stages {
		if next.DoneAt.IsZero() && next.comesAfter(s.ID) {
			longest = max(longest, w.from(next))
		}
	}
	w.on[s.ID] = s.span() + longest
	return w.on[s.ID]
}

func (s PlannedStage) comesAfter(stage id.ID) bool {
	for _, i := range s.After {
		if i == stage {
			return true
		}
	}
	return false
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
