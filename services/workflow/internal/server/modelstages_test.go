package server_test

import (
	"slices"

	"pgregory.net/rapid"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// mostAtOnce is how many people can have a stage.
const mostAtOnce = 8

// assign gives a stage to somebody, in the place of all or beside them, or takes it from all.
func (m *model) assign(rt *rapid.T) {
	who, beside := rapid.IntRange(none, len(m.people)-1).Draw(rt, "to"), rapid.Bool().Draw(rt, "beside")
	stage := m.which(rt, func(i int) bool { return m.stages[i].finished == 0 })
	r := &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: m.stages[stage].name, AssignTime: second(m.when(rt)), Beside: beside}
	if who != none {
		r.Person = m.people[who]
	}
	_, err := m.f.stages.AssignStage(svctest.Ctx(m.t), r)
	s := &m.stages[stage]
	could := s.finished == 0 && (beside || !m.onIt(stage)) && (who != none || !beside) && (who == none || m.able(who, stage))
	if could && beside {
		could = m.theirs(who, stage) || len(s.has) < mostAtOnce
	}
	if !m.agree(rt, "assign", could, err) {
		return
	}
	switch {
	case who == none:
		s.has = nil
	case !beside:
		s.has = []int{who}
	case !m.theirs(who, stage):
		s.has = append(s.has, who)
	}
}

// handOver gives a stage on from one person to another, who may begin at once.
func (m *model) handOver(rt *rapid.T) {
	stage := m.which(rt, func(i int) bool { return m.onIt(i) || len(m.stages[i].has) > 0 })
	from := m.about(pick(rt, "from", len(m.people), func(who int) bool { return m.theirs(who, stage) || slices.Contains(m.handsAt(stage), who) }))
	to, at, clockOn := m.who(rt, false), m.when(rt), rapid.Bool().Draw(rt, "clock on")
	_, err := m.f.stages.HandOverStage(svctest.Ctx(m.t), &workflowv1.HandOverStageRequest{RequestId: svctest.NewID(), Stage: m.stages[stage].name, From: m.people[from], To: m.people[to],
		HandOverTime: second(at), ClockOn: clockOn, Note: "the left side is done"})
	s, on := &m.stages[stage], m.open(from)
	if !slices.Contains(m.handsAt(stage), from) {
		on = nil
	}
	hands := passed(s.has, from, to)
	could := s.finished == 0 && from != to && (on != nil || m.theirs(from, stage)) && (on == nil || on[0].Batch == none && at > on[0].Start) && m.able(to, stage) && len(hands) <= mostAtOnce
	if could && clockOn {
		could = m.ready(stage) && !m.isAway(stage) && m.free(to, at, 0)
	}
	if !m.agree(rt, "hand over", could, err) {
		return
	}
	s.has = hands
	if on != nil {
		m.end(on, at, false)
	}
	if clockOn {
		m.begin(to, target{stage, none, none}, at, []string{m.running(to)})
	}
}

// passed puts one person in the place of another among those who have a stage.
func passed(has []int, from, to int) (hands []int) {
	for _, h := range has {
		switch {
		case h != from:
			hands = append(hands, h)
		case !slices.Contains(has, to):
			hands = append(hands, to)
		}
	}
	if !slices.Contains(hands, to) {
		hands = append(hands, to)
	}
	return hands
}

// running is the name of the entry that a person is on the clock with by the service.
func (m *model) running(who int) string {
	entries := m.f.entries(m.t, m.people[who])
	return entries[slices.IndexFunc(entries, func(e *workflowv1.ClockEntry) bool { return e.EndTime == nil })].Name
}

// claim takes a stage that nobody has and nobody is at, or that is the person's.
func (m *model) claim(rt *rapid.T) {
	who := m.who(rt, false)
	stage := m.which(rt, func(i int) bool { return m.mayWork(who, i) })
	r := claiming(m.people[who])
	r.Stage = m.stages[stage].name
	_, err := m.f.stages.ClaimStage(svctest.Ctx(m.t), r)
	s := &m.stages[stage]
	if m.agree(rt, "claim", m.mayWork(who, stage) && (m.theirs(who, stage) || !m.onIt(stage) && s.batch == none), err) && len(s.has) == 0 {
		s.has = []int{who}
	}
}

func (m *model) finish(rt *rapid.T) {
	stage, at := m.which(rt, m.mayEnd), m.when(rt)
	_, err := m.f.stages.FinishStage(svctest.Ctx(m.t), &workflowv1.FinishStageRequest{RequestId: svctest.NewID(), Stage: m.stages[stage].name, FinishTime: second(at)})
	if m.agree(rt, "finish", m.mayFinishStage(stage, at), err) {
		m.done(stage, at)
	}
}

// mayFinishStage is the rule of finishing a stage.
func (m *model) mayFinishStage(stage, at int) bool {
	return m.mayEnd(stage) && !m.stages[stage].inspects && m.over(stage, at)
}

func (m *model) sendBack(rt *rapid.T) {
	stage, at := m.which(rt, m.isFinished), m.when(rt)
	_, err := m.f.stages.SendBackStage(svctest.Ctx(m.t), &workflowv1.SendBackStageRequest{RequestId: svctest.NewID(), Stage: m.stages[stage].name, Reason: "runs in the coat", SendBackTime: second(at)})
	if m.agree(rt, "send back", m.maySendBack(stage, at), err) {
		m.sentBack(stage, at)
	}
}

func (m *model) isFinished(stage int) bool { return m.stages[stage].finished != 0 }
