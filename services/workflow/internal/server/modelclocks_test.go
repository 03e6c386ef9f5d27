package server_test

import (
	"slices"

	"pgregory.net/rapid"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// target draws what somebody is to be on, mostly something that they may.
func (m *model) target(rt *rapid.T, who int) target {
	var all []target
	for b := range m.batches {
		all = append(all, target{none, b, none})
	}
	for j := range m.stages {
		all = append(all, target{j, none, none})
	}
	all = append(all, target{indirect, none, none})
	to := all[pick(rt, "target", len(all), func(i int) bool {
		jobs := m.jobs(all[i])
		return len(jobs) > 0 && !slices.ContainsFunc(jobs, func(j int) bool { return j != indirect && !m.mayWork(who, j) })
	})]
	to.station = max(none, rapid.IntRange(-4, len(m.stations)-1).Draw(rt, "station"))
	return to
}

// name says a target in a request.
func (m *model) name(t target) (stage, batch, indirectly string) {
	switch {
	case t.batch != none:
		return "", m.batches[t.batch].name, ""
	case t.job == indirect:
		return "", "", "cleaning"
	}
	return m.stages[t.job].name, "", ""
}

// stationOf says its station.
func (m *model) stationOf(t target) string {
	if t.station == none {
		return ""
	}
	return m.stations[t.station].name
}

func named(entries []*workflowv1.ClockEntry) (names []string) {
	for _, e := range entries {
		names = append(names, e.Name)
	}
	return names
}

func (m *model) on(rt *rapid.T) {
	who, at := m.who(rt, false), m.when(rt)
	to := m.target(rt, who)
	r := &workflowv1.ClockOnRequest{RequestId: svctest.NewID(), Person: m.people[who], StartTime: second(at)}
	r.Stage, r.Batch, r.Indirect = m.name(to)
	r.Station = m.stationOf(to)
	got, err := m.f.clocks.ClockOn(svctest.Ctx(m.t), r)
	if m.agree(rt, "clock on", m.mayBegin(who, to, at), err) {
		m.begin(who, to, at, named(got.ClockEntries))
	}
}

func (m *model) off(rt *rapid.T) {
	who, at := m.who(rt, true), m.when(rt)
	_, err := m.f.clocks.ClockOff(svctest.Ctx(m.t), &workflowv1.ClockOffRequest{RequestId: svctest.NewID(), Person: m.people[who], EndTime: second(at)})
	m.ended(rt, "clock off", who, at, false, err)
}

func (m *model) pause(rt *rapid.T) {
	who, at := m.who(rt, true), m.when(rt)
	_, err := m.f.clocks.PauseClock(svctest.Ctx(m.t), &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: m.people[who], PauseTime: second(at)})
	m.ended(rt, "pause", who, at, true, err)
}

func (m *model) ended(rt *rapid.T, what string, who, at int, paused bool, err error) {
	on := m.open(who)
	if m.agree(rt, what, on != nil && at > on[0].Start, err) {
		m.end(on, at, paused)
	}
}

func (m *model) resume(rt *rapid.T) {
	at := m.when(rt)
	who := m.about(pick(rt, "who", len(m.people), func(who int) bool { last := m.last(who); return last != nil && last.Paused }))
	got, err := m.f.clocks.ResumeClock(svctest.Ctx(m.t), &workflowv1.ResumeClockRequest{RequestId: svctest.NewID(), Person: m.people[who], ResumeTime: second(at)})
	last := m.last(who)
	if m.agree(rt, "resume", last != nil && last.Paused && last.End != 0 && m.mayBegin(who, last.target(), at), err) {
		m.begin(who, last.target(), at, named(got.ClockEntries))
	}
}

// last is the person's last entry to begin.
func (m *model) last(who int) (last *worked) {
	for i := range m.entries[who] {
		if e := &m.entries[who][i]; last == nil || e.Start > last.Start {
			last = e
		}
	}
	return last
}

func (e worked) target() target {
	if e.Batch != none {
		return target{none, e.Batch, e.Station}
	}
	return target{e.Job, none, e.Station}
}

func (m *model) switchOver(rt *rapid.T) {
	who, at := m.who(rt, true), m.when(rt)
	to := m.target(rt, who)
	r := &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: m.people[who], SwitchTime: second(at)}
	r.Stage, r.Batch, r.Indirect = m.name(to)
	r.Station = m.stationOf(to)
	r.Finish = rapid.IntRange(0, 2).Draw(rt, "finish") == 2
	got, err := m.f.clocks.SwitchClock(svctest.Ctx(m.t), r)
	undo := m.remember()
	if !m.agree(rt, "switch", m.leaves(who, at, r.Finish) && m.mayBegin(who, to, at), err) {
		undo()
		return
	}
	m.begin(who, to, at, named(got.Begun))
}

// leaves ends what a person is on, and finishes the stage if that is asked, or cannot.
func (m *model) leaves(who, at int, finish bool) bool {
	on := m.open(who)
	if on == nil || at <= on[0].Start {
		return false
	}
	if m.end(on, at, false); !finish {
		return true
	}
	stage := on[0].Job
	if stage == indirect || on[0].Batch != none || !m.mayFinishStage(stage, at) {
		return false
	}
	m.done(stage, at)
	return true
}

// record writes work down, on a batch also after it has ended: on what was in it until the end of
// the work.
func (m *model) record(rt *rapid.T) {
	who, end := m.who(rt, false), m.when(rt)
	start := max(0, end-60*rapid.IntRange(0, 12).Draw(rt, "length"))
	to := target{rapid.IntRange(indirect, len(m.stages)-1).Draw(rt, "job"), none, none}
	if b := rapid.IntRange(none, len(m.batches)-1).Draw(rt, "batch"); b != none {
		to = target{none, b, none}
	}
	r := &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: m.people[who], StartTime: second(start), EndTime: second(end), Reason: "nobody clocked it"}
	r.Stage, r.Batch, r.Indirect = m.name(to)
	got, err := m.f.clocks.RecordClockEntry(svctest.Ctx(m.t), r)
	if m.agree(rt, "record", end > start && m.againstWriting(who, to, start, end, false) == 0, err) {
		m.write(who, to, m.jobsUntil(to, end), start, end, named(got.ClockEntries))
	}
}

// againstWriting is what stands against writing work down; of what was sent also what would have
// stood against it at the shop. 0 is nothing.
func (m *model) againstWriting(who int, t target, start, end int, sent bool) workflowv1.ClockReview_Kind {
	for _, j := range m.jobsUntil(t, end) {
		switch {
		case j != indirect && !m.able(who, j):
			return refused
		case j != indirect && sent && (!m.ready(j) && m.passOf(j, start) == m.stages[j].pass() || len(m.stages[j].has) > 0 && !m.theirs(who, j)):
			return refused
		case !m.free(who, start, end):
			return overlaps
		}
	}
	return 0
}

// jobsUntil are the jobs of work that ended at an instant.
func (m *model) jobsUntil(t target, end int) []int {
	if t.batch != none {
		return m.batches[t.batch].until(end)
	}
	return []int{t.job}
}

// takeAway takes away an entry, and with one of a batch all of its stretch.
func (m *model) takeAway(rt *rapid.T) {
	who := m.about(pick(rt, "who", len(m.people), func(who int) bool { return len(m.entries[who]) > 0 }))
	if len(m.entries[who]) == 0 {
		return
	}
	e := rapid.SampledFrom(m.entries[who]).Draw(rt, "entry")
	_, err := m.f.clocks.CorrectClockEntry(svctest.Ctx(m.t), &workflowv1.CorrectClockEntryRequest{RequestId: svctest.NewID(), ClockEntry: e.name, Reason: "it was not done"})
	if m.agree(rt, "take away", e.End != 0, err) {
		m.entries[who] = slices.DeleteFunc(m.entries[who], func(other worked) bool { return other.stretch == e.stretch })
	}
}
