package server_test

import (
	"slices"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// open are the entries that a person is on the clock with: of a batch several.
func (m *model) open(who int) (on []*worked) {
	for i := range m.entries[who] {
		if e := &m.entries[who][i]; e.End == 0 {
			on = append(on, e)
		}
	}
	return on
}

// handsAt are the people on the clock at a stage.
func (m *model) handsAt(stage int) (hands []int) {
	for who := range m.people {
		if slices.ContainsFunc(m.open(who), func(e *worked) bool { return e.Job == stage }) {
			hands = append(hands, who)
		}
	}
	return hands
}

func (m *model) onIt(stage int) bool { return len(m.handsAt(stage)) > 0 }

// free tells whether nothing that counts lies between two instants; to 0 is for ever.
func (m *model) free(who, from, to int) bool {
	for _, e := range m.entries[who] {
		if (e.End == 0 || e.End > from) && (to == 0 || e.Start < to) {
			return false
		}
	}
	return true
}

func (m *model) ready(stage int) bool {
	return !slices.ContainsFunc(m.stages[stage].before, func(b int) bool { return m.stages[b].finished == 0 })
}

func (m *model) able(who, stage int) bool { return !m.stages[stage].skilled || m.skilled[who] }

func (m *model) theirs(who, stage int) bool { return slices.Contains(m.stages[stage].has, who) }

// isAway tells whether others have the stage's part, or one of the piece's.
func (m *model) isAway(stage int) bool {
	s := m.stages[stage]
	return slices.ContainsFunc(m.outside, func(o modelOutside) bool {
		return o.State == out && o.piece == s.piece && touch(o.Part, s.part)
	})
}

// touch tells whether two parts of a piece have something in common.
func touch(a, b int) bool { return a == b || a == whole || b == whole }

// target is what somebody is on: stages, or what belongs to no piece; of a batch all of it; and
// at which station.
type target struct{ job, batch, station int }

// indirect is the job that belongs to no piece.
const indirect = -1

func (m *model) jobs(t target) []int {
	if t.batch != none {
		return m.in(t.batch)
	}
	return []int{t.job}
}

// mayBegin is the rule of clocking on, once no clock of theirs runs.
func (m *model) mayBegin(who int, t target, at int) bool { return m.against(who, t, at) == 0 }

// against is what stands against clocking on: what else the person is down for, or what another
// person's clock would be refused for too; 0 is nothing.
func (m *model) against(who int, t target, at int) workflowv1.ClockReview_Kind {
	jobs := m.jobs(t)
	for _, j := range jobs {
		switch {
		case m.open(who) != nil:
			return overlaps
		case j != indirect && !m.mayWork(who, j):
			return refused
		case !m.free(who, at, 0):
			return overlaps
		}
	}
	if len(jobs) == 0 || !m.room(t.station, m.comings(m.standOn(jobs), t.station, at)) {
		return refused
	}
	return 0
}

func (m *model) mayWork(who, stage int) bool {
	s := m.stages[stage]
	return s.finished == 0 && m.ready(stage) && (len(s.has) == 0 || m.theirs(who, stage)) && m.able(who, stage) && !m.isAway(stage)
}

// mayEnd is the rule of finishing a stage, but for when.
func (m *model) mayEnd(stage int) bool {
	return m.stages[stage].finished == 0 && m.ready(stage) && !m.onIt(stage) && !m.isAway(stage)
}

// over tells whether the work of a stage's pass was over at an instant. People write minutes.
func (m *model) over(stage, at int) bool {
	s := m.stages[stage]
	if len(s.backs) > 0 && at < s.backs[len(s.backs)-1] {
		return false
	}
	for who := range m.people {
		for _, e := range m.entries[who] {
			if e.Job == stage && e.Pass == s.pass() && at < e.End/60*60 {
				return false
			}
		}
	}
	return true
}

// done finishes a stage, which leaves its batch.
func (m *model) done(stage, at int) {
	m.stages[stage].finished = at
	m.leave(stage, at, workflowv1.Batch_STATE_FINISHED)
}

// builtOn are the stage and all that come after it, in the order of the work.
func (m *model) builtOn(stage int) (out []int) {
	for i, s := range m.stages {
		if i == stage || slices.ContainsFunc(s.before, func(b int) bool { return slices.Contains(out, b) }) {
			out = append(out, i)
		}
	}
	return out
}

// maySendBack is the rule of sending back.
func (m *model) maySendBack(stage, at int) bool {
	return m.stages[stage].finished != 0 && !slices.ContainsFunc(m.builtOn(stage), func(i int) bool { return m.onIt(i) || at < m.stages[i].finished })
}

// sentBack opens a stage and what was built on it again.
func (m *model) sentBack(stage, at int) {
	for _, i := range m.builtOn(stage) {
		if s := &m.stages[i]; s.finished != 0 {
			s.finished, s.backs = 0, append(s.backs, at)
		}
	}
}
