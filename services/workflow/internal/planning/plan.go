package planning

import (
	"bytes"
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/planner"
	"tackfree/pkg/sentence"
	"tackfree/services/workflow/internal/workflow"
)

// Runs is how often chances are played, and Seed by which.
const (
	Runs = 200
	Seed = 1
)

// Make plans the floor at once, near to what was published. The same facts give the same plan.
func Make(f *Facts) (*Plan, error) { return Propose(f, Search{Seed: Seed}) }

// Propose looks for a good plan of the floor for as long as it is given.
func Propose(f *Facts, how Search) (*Plan, error) {
	m, placed, err := newMaker(f)
	if err != nil {
		return nil, err
	}
	solved, err := m.search(placed, how)
	if err != nil {
		return nil, err
	}
	return m.plan(solved)
}

// plan makes a plan of the floor of one of the problem.
func (m *maker) plan(solved *planner.Plan) (*Plan, error) {
	out := &Plan{Start: m.base, End: m.instant(m.p.Horizon), Runs: Runs, Presence: m.presence(), Cost: new(m.cost(solved)), PublishedAt: m.PublishedAt}
	left, err := m.unplaced(out, solved)
	if err != nil {
		return nil, err
	}
	for op := range m.jobs {
		if left[op] {
			continue
		}
		if out.Placed, err = m.placed(out.Placed, op, solved); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(out.Placed, func(a, b Placed) int {
		return cmp.Or(a.Start.Compare(b.Start), cmp.Compare(a.Piece.Piece.Tag, b.Piece.Piece.Tag), cmp.Compare(a.Stage.Position, b.Stage.Position), bytes.Compare(a.Stage.ID[:], b.Stage.ID[:]))
	})
	return out, m.outlooks(out, solved, left)
}

// presence is when people work, by name.
func (m *maker) presence() (all []Presence) {
	for i, w := range m.p.Workers {
		if len(w.Calendar) == 0 {
			continue
		}
		p := Presence{Person: &m.People[i]}
		for _, c := range w.Calendar {
			p.Stretches = append(p.Stretches, workflow.Pause{Start: m.instant(max(0, c.Start)), End: m.instant(c.End)})
		}
		all = append(all, p)
	}
	slices.SortStableFunc(all, func(a, b Presence) int { return cmp.Compare(a.Person.Name, b.Person.Name) })
	return all
}

// placed adds the stages of a job with their places, for each who is at it.
func (m *maker) placed(all []Placed, op int, solved *planner.Plan) ([]Placed, error) {
	j, o, slot := m.jobs[op], &m.p.Operations[op], solved.Slots[op]
	missed, says := j.missed || m.missed(op, solved), sentence.Sentence{}
	if missed {
		var err error
		if says, err = m.missedBecause(op); err != nil {
			return nil, err
		}
	}
	for i, s := range j.stages {
		p := Placed{Stage: s, Piece: &m.Pieces[j.pieces[i]], InWork: len(j.running) > 0, WindowMissed: missed, WindowSays: says}
		p.Start, p.End = m.share(j, i, slot)
		if s.Attended > 0 && s.Unattended > 0 {
			p.Dry = p.End.Add(s.Unattended)
		}
		if slot.Station != planner.NoStation {
			p.Station = &m.Stations[slot.Station]
		}
		pin := m.Pins[s.ID]
		p.TimePinned = !pin.At.IsZero()
		for _, w := range append([]int{slot.Worker}, o.With...) {
			if at := p; w != planner.NoWorker {
				at.Person = &m.People[w]
				if w == slot.Worker {
					at.Known = m.otherwise(s, &at)
				}
				if s.Assignee != id.Nil && !s.Has(at.Person.ID) && !p.InWork {
					at.Held = s.AssignedTo
				}
				at.Assigned, at.PersonPinned = s.Assignee != id.Nil && s.Has(at.Person.ID), pin.Person == at.Person.ID
				all = append(all, at)
			}
		}
		if slot.Worker == planner.NoWorker {
			p.Known = m.otherwise(s, &p)
			all = append(all, p)
		}
	}
	return all, nil
}

// share is the stretch of a job's slot that one of its stages gets, by what it takes of all.
func (m *maker) share(j *job, nth int, slot planner.Slot) (start, end time.Time) {
	whole, before := j.attended(), time.Duration(0)
	if whole == 0 || len(j.stages) == 1 || (slot.Worker == planner.NoWorker && len(j.running) == 0) {
		return m.instant(slot.Start), m.instant(slot.End)
	}
	for _, s := range j.stages[:nth] {
		before += s.Attended
	}
	spans := m.spans(j, slot)
	return m.instant(into(spans, before, whole, 1)), m.instant(into(spans, before+j.stages[nth].Attended, whole, 0))
}

// spans are when a job is worked on in its slot: all the while, where somebody is at it.
func (m *maker) spans(j *job, slot planner.Slot) (spans []planner.Window) {
	if len(j.running) == 0 {
		for _, w := range m.p.Workers[slot.Worker].Calendar {
			if w = (planner.Window{Start: max(w.Start, slot.Start), End: min(w.End, slot.End)}); w.Start < w.End {
				spans = append(spans, w)
			}
		}
	}
	if len(spans) == 0 {
		return []planner.Window{{Start: slot.Start, End: slot.End}}
	}
	return spans
}

// into is the minute at which so much of the whole is done; more 1: and at which more is begun.
func into(spans []planner.Window, done, whole time.Duration, more int) planner.Minute {
	all := 0
	for _, w := range spans {
		all += w.End - w.Start
	}
	left := int(int64(all) * int64(done/time.Minute) / int64(whole/time.Minute))
	for _, w := range spans {
		if left+more <= w.End-w.Start {
			return w.Start + left
		}
		left -= w.End - w.Start
	}
	return spans[len(spans)-1].End
}

// missed reports whether a window below a job is closed when it begins.
func (m *maker) missed(op int, solved *planner.Plan) bool {
	if slices.ContainsFunc(solved.Missed, func(l int) bool { return m.p.Lags[l].To == op }) {
		return true
	}
	for l := range m.loose {
		lag := m.p.Lags[l]
		latest := m.jobs[lag.From].first().Latest
		if lag.To == op && m.instant(solved.Slots[op].Start).Sub(m.instant(solved.Slots[lag.From].End)) > latest {
			return true
		}
	}
	return false
}

// outlooks plays the plan, and says what becomes of each piece.
func (m *maker) outlooks(out *Plan, solved *planner.Plan, left map[int]bool) error {
	played, err := planner.Simulate(&m.p, solved, m.doubt, Runs, Seed)
	if err != nil {
		return err
	}
	ends, open := make([]planner.Minute, len(m.Pieces)), make([]bool, len(m.Pieces))
	for op, o := range m.p.Operations {
		ends[o.Piece] = max(ends[o.Piece], solved.Slots[op].End)
	}
	for op := range left {
		for _, piece := range m.jobs[op].pieces {
			open[piece] = true
		}
	}
	for i := range m.Pieces {
		look := Outlook{Piece: &m.Pieces[i], played: played[i], base: m.base}
		if !open[i] {
			look.End, look.Early, look.Middle, look.Late = m.instant(ends[i]), m.instant(played[i].Early), m.instant(played[i].Middle), m.instant(played[i].End)
			if !look.Piece.Piece.Promised.IsZero() {
				look.Chance = played[i].Kept
			}
		}
		out.Pieces = append(out.Pieces, look)
	}
	slices.SortStableFunc(out.Pieces, func(a, b Outlook) int {
		p, q := a.Piece.Piece, b.Piece.Piece
		return cmp.Or(promisedFirst(p.Promised, q.Promised), cmp.Compare(p.Tag, q.Tag), bytes.Compare(p.ID[:], q.ID[:]))
	})
	return nil
}

// promisedFirst orders promises; a zero one, to nobody, comes last.
func promisedFirst(a, b time.Time) int {
	if a.IsZero() || b.IsZero() {
		return b.Compare(a)
	}
	return a.Compare(b)
}

// Of is the part of a plan that somebody has: what they do, and what becomes of the pieces on which they do it.
func (p *Plan) Of(person id.ID) *Plan {
	out := &Plan{Start: p.Start, End: p.End, Runs: p.Runs, PublishedAt: p.PublishedAt}
	pieces := map[id.ID]bool{}
	for _, s := range p.Placed {
		if s.Person != nil && s.Person.ID == person {
			out.Placed, pieces[s.Piece.Piece.ID] = append(out.Placed, s), true
		}
	}
	for _, o := range p.Pieces {
		if pieces[o.Piece.Piece.ID] {
			out.Pieces = append(out.Pieces, o)
		}
	}
	for _, there := range p.Presence {
		if there.Person.ID == person {
			out.Presence = append(out.Presence, there)
		}
	}
	return out
}
