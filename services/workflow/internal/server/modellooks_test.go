package server_test

import (
	"slices"

	"pgregory.net/rapid"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// out is what others have now.
const out = workflowv1.OutsideWork_STATE_OUT

type modelOutside struct {
	State      workflowv1.OutsideWork_State
	Part       int
	Stage      int // that it does; none
	Sent, Back int
	name       string
	piece      int
}

type modelLook struct {
	Stage, By int
	Passed    bool
	BackTo    int
	Pass      int32
	At        int
}

// sendOut gives a part, or all, to others: for a stage of it or for none.
func (m *model) sendOut(rt *rapid.T) {
	stage, at := m.which(rt, func(i int) bool { return m.mayEnd(i) && !m.stages[i].inspects }), m.when(rt)
	piece := m.stages[stage].piece
	p := m.pieces[piece]
	o := modelOutside{State: out, Part: rapid.IntRange(whole, len(p.parts)-1).Draw(rt, "part"), Stage: stage, Sent: at, piece: piece}
	r := &workflowv1.SendOutRequest{RequestId: svctest.NewID(), Piece: p.name, Kind: "caning", Firm: "Weber & Daughter", DueDate: march(20), Stage: m.stages[stage].name, SendTime: second(at)}
	if o.Part != whole {
		r.Part = p.parts[o.Part]
	}
	if rapid.IntRange(0, 3).Draw(rt, "for nothing") == 3 {
		o.Stage, r.Stage = none, ""
	}
	got, err := workflowv1.NewOutsideWorkServiceClient(m.f.Conn).SendOut(svctest.Ctx(m.t), r)
	could := o.Stage == none || m.mayEnd(stage) && !m.stages[stage].inspects && touch(o.Part, m.stages[stage].part)
	if !m.agree(rt, "send out", could && m.mayGo(piece, o.Part, at), err) {
		return
	}
	o.name = got.OutsideWork.Name
	m.outside = append(m.outside, o)
	m.carry(m.partsOf(piece, o.Part), abroad, at)
}

// mayGo is the rule of what can be given to others.
func (m *model) mayGo(piece, part, at int) bool {
	for i, s := range m.stages {
		if s.piece == piece && touch(part, s.part) && m.onIt(i) {
			return false
		}
	}
	return !slices.ContainsFunc(m.partsOf(piece, part), func(p modelPlace) bool { return m.stands(p) == abroad || m.tooSoon(p, at) })
}

// receive takes outside work back, which finishes its stage, unless it was called off.
func (m *model) receive(rt *rapid.T) {
	if len(m.outside) == 0 {
		return
	}
	n := pick(rt, "outside", len(m.outside), func(i int) bool { return m.outside[i].State == out })
	o, at, calledOff := &m.outside[n], m.when(rt), rapid.IntRange(0, 3).Draw(rt, "called off") == 3
	to := max(none, rapid.IntRange(-4, len(m.stations)-1).Draw(rt, "to"))
	_, err := workflowv1.NewOutsideWorkServiceClient(m.f.Conn).ReceiveOutsideWork(svctest.Ctx(m.t),
		&workflowv1.ReceiveOutsideWorkRequest{RequestId: svctest.NewID(), OutsideWork: o.name, CalledOff: calledOff, ReceiveTime: second(at), Station: m.stationOf(target{station: to})})
	does := !calledOff && o.Stage != none && m.stages[o.Stage].finished == 0 && m.ready(o.Stage)
	could := o.State == out && at >= o.Sent && (!does || m.over(o.Stage, at))
	undo := m.remember()
	if could {
		m.putDown(*o, to, at)
		could = m.room(to, nil)
	}
	if !m.agree(rt, "receive", could, err) {
		undo()
		return
	}
	o.State, o.Back = workflowv1.OutsideWork_STATE_BACK, at
	if calledOff {
		o.State = workflowv1.OutsideWork_STATE_CALLED_OFF
	}
	if does {
		m.done(o.Stage, at)
	}
}

// putDown takes parts back from others, and carries them to a station.
func (m *model) putDown(o modelOutside, to, at int) {
	parts := m.partsOf(o.piece, o.Part)
	for _, p := range parts {
		last := m.lastPlace(p)
		last.to = max(at*1000, last.From+1)
	}
	m.carry(parts, to, at)
}

func (m *model) pass(rt *rapid.T) { m.look(rt, true) }
func (m *model) fail(rt *rapid.T) { m.look(rt, false) }

// look inspects a stage: an inspection, or another that is finished.
func (m *model) look(rt *rapid.T, passed bool) {
	at, by := m.when(rt), pick(rt, "inspector", len(m.people), func(who int) bool { return m.skilled[who] })
	stage := m.which(rt, func(i int) bool { return m.visible(i, at, passed) })
	l := modelLook{Stage: stage, By: by, Passed: passed, BackTo: none, Pass: m.stages[stage].pass(), At: at}
	r := &workflowv1.RecordInspectionRequest{RequestId: svctest.NewID(), Stage: m.stages[stage].name, Inspector: m.people[by], Passed: passed, InspectTime: second(at)}
	if !passed {
		l.BackTo = m.which(rt, func(i int) bool { return slices.Contains(m.lookedAt(stage), i) })
		r.Defects, r.BackTo = []*workflowv1.Defect{{Kind: "runs"}}, m.stages[l.BackTo].name
	}
	_, err := workflowv1.NewInspectionServiceClient(m.f.Conn).RecordInspection(svctest.Ctx(m.t), r)
	inspects := m.stages[stage].inspects
	could := m.visible(stage, at, passed) && m.able(by, stage)
	if passed {
		could = could && !m.alone(by, stage) && (!inspects || m.over(stage, at))
	} else {
		could = could && slices.Contains(m.lookedAt(stage), l.BackTo) && m.maySendBack(l.BackTo, at)
	}
	if !m.agree(rt, "look", could, err) {
		return
	}
	m.looks = append(m.looks, l)
	m.concluded(l)
}

// concluded is what follows from a look.
func (m *model) concluded(l modelLook) {
	s := &m.stages[l.Stage]
	switch {
	case !l.Passed:
		found := !m.isFinished(l.Stage)
		m.sentBack(l.BackTo, l.At)
		if s.inspects && found { // which looks again, because of what it found
			s.backs = append(s.backs, l.At)
		}
	case s.inspects:
		m.done(l.Stage, l.At)
	}
}

// visible is a stage whose work can be looked at; an inspection is not passed twice.
func (m *model) visible(stage, at int, passed bool) bool {
	s := m.stages[stage]
	if s.inspects && s.finished == 0 {
		return m.mayEnd(stage) && !slices.ContainsFunc(m.lookedAt(stage), func(i int) bool { return at < m.stages[i].finished })
	}
	return m.isFinished(stage) && (!s.inspects || !passed) && !m.isAway(stage) && at >= s.finished
}

// lookedAt are the stages that a look is about: all that come before, and itself if it is no
// inspection.
func (m *model) lookedAt(stage int) (about []int) {
	for i := range m.stages {
		if slices.Contains(m.builtOn(i), stage) && (i != stage || !m.stages[stage].inspects) {
			about = append(about, i)
		}
	}
	return about
}

// alone tells whether only this person worked on what a look would pass.
func (m *model) alone(who, stage int) bool {
	about, worked := []int{stage}, false
	if m.stages[stage].inspects {
		about = m.stages[stage].before
	}
	for other := range m.people {
		for _, e := range m.entries[other] {
			if slices.Contains(about, e.Job) && e.Pass == m.stages[e.Job].pass() {
				if worked = true; other != who {
					return false
				}
			}
		}
	}
	return worked
}
