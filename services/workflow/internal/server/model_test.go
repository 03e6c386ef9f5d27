package server_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Random commands by several people against a floor that keeps what it knows in a few lists:
// the service takes and refuses the same ones, and shows the same afterwards.
func TestServer_RandomCommandsAgainstModel(t *testing.T) {
	f := setup(t)
	rapid.Check(t, func(rt *rapid.T) {
		m := newModel(t, rt, f)
		rt.Repeat(map[string]func(*rapid.T){
			"on": m.on, "off": m.off, "pause": m.pause, "resume": m.resume, "switch": m.switchOver, "record": m.record, "takeAway": m.takeAway,
			"assign": m.assign, "finish": m.finish, "sendBack": m.sendBack,
			"": m.compare,
		})
	})
}

// indirect is the job that belongs to no piece; the others are stages.
const indirect = -1

// worked is an entry that counts; an end of 0 is none.
type worked struct {
	Job        int
	Start, End int
	Pass       int32
	Paused     bool
	name       string
}

type modelStage struct {
	name     string
	before   []int
	skilled  bool
	finished int // 0: it is not
	backs    []int
	assignee int // -1: nobody
}

func (s modelStage) passAt(minute int) int32 {
	pass := int32(1)
	for _, b := range s.backs {
		if minute >= b {
			pass++
		}
	}
	return pass
}

// model is the floor as the lists know it.
type model struct {
	t       *testing.T
	f       *floor
	piece   string
	people  []string
	skilled []bool
	stages  []modelStage
	entries [][]worked // by person
	minute  int
}

func newModel(t *testing.T, rt *rapid.T, f *floor) *model {
	m := &model{t: t, f: f, minute: 1, skilled: []bool{true, true, false}}
	for i := range m.skilled {
		name := fmt.Sprintf("Helper %s %d", svctest.NewID()[24:], i)
		if m.skilled[i] {
			m.people = append(m.people, f.person(t, name, "eye"))
		} else {
			m.people = append(m.people, f.person(t, name))
		}
	}
	m.entries = make([][]worked, len(m.people))
	route := &workflowv1.SaveRouteRequest{RequestId: svctest.NewID(), Route: &workflowv1.Route{Name: "routes/model", Steps: []*workflowv1.Step{
		{Key: "look", Kind: "look_over", Scope: workflowv1.Step_SCOPE_PART}, {Key: "tidy", Kind: "tidy_up", Scope: workflowv1.Step_SCOPE_PART, After: []string{"look"}, Skill: "eye"},
		{Key: "join", Kind: "put_together", Scope: workflowv1.Step_SCOPE_PIECE, After: []string{"tidy"}}}}}
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), route); err != nil {
		rt.Fatal(err)
	}
	p := f.intake.add("top", "case")
	r, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/model", PlanTime: at(0)})
	if err != nil {
		rt.Fatal(err)
	}
	m.piece = p.Name
	for _, s := range r.Stages {
		st := modelStage{name: s.Name, skilled: s.Skill != "", assignee: -1}
		for _, b := range s.After {
			st.before = append(st.before, slices.IndexFunc(m.stages, func(o modelStage) bool { return o.name == b }))
		}
		m.stages = append(m.stages, st)
	}
	return m
}

// when is usually a little later than all before, and now and then sooner.
func (m *model) when(rt *rapid.T) int {
	m.minute += rapid.IntRange(1, 9).Draw(rt, "later")
	if rapid.IntRange(0, 5).Draw(rt, "sooner") == 0 {
		return max(1, m.minute-rapid.IntRange(1, 30).Draw(rt, "by"))
	}
	return m.minute
}

func (m *model) who(rt *rapid.T) int   { return rapid.IntRange(0, len(m.people)-1).Draw(rt, "who") }
func (m *model) which(rt *rapid.T) int { return rapid.IntRange(0, len(m.stages)-1).Draw(rt, "stage") }
func (m *model) job(rt *rapid.T) int {
	return rapid.IntRange(indirect, len(m.stages)-1).Draw(rt, "job")
}

func (m *model) open(who int) *worked {
	for i := range m.entries[who] {
		if e := &m.entries[who][i]; e.End == 0 {
			return e
		}
	}
	return nil
}

func (m *model) onIt(stage int) bool {
	for who := range m.people {
		if e := m.open(who); e != nil && e.Job == stage {
			return true
		}
	}
	return false
}

// free tells whether nothing that counts lies between two minutes; to 0 is for ever.
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

// mayBegin is the rule of clocking on, once no clock of theirs runs.
func (m *model) mayBegin(who, j, minute int) bool {
	if !m.free(who, minute, 0) {
		return false
	}
	if j == indirect {
		return true
	}
	s := m.stages[j]
	return s.finished == 0 && m.ready(j) && (s.assignee == -1 || s.assignee == who) && (!s.skilled || m.skilled[who])
}

func (m *model) begin(who, j, minute int, name string) {
	e := worked{Job: j, Start: minute, Pass: 1, name: name}
	if j != indirect {
		e.Pass = m.stages[j].passAt(minute)
	}
	m.entries[who] = append(m.entries[who], e)
}

// agree checks that the service took a command if and only if the model does.
func (m *model) agree(rt *rapid.T, what string, want bool, err error) bool {
	if (err == nil) != want {
		rt.Fatalf("%s at minute %d: the service says %v, the model takes it: %v", what, m.minute, err, want)
	}
	return want
}

func (m *model) on(rt *rapid.T) {
	who, j, minute := m.who(rt), m.job(rt), m.when(rt)
	r := &workflowv1.ClockOnRequest{RequestId: svctest.NewID(), Person: m.people[who], StartTime: at(minute)}
	if r.Indirect = "cleaning"; j != indirect {
		r.Indirect, r.Stage = "", m.stages[j].name
	}
	got, err := m.f.clocks.ClockOn(svctest.Ctx(m.t), r)
	if m.agree(rt, "clock on", m.open(who) == nil && m.mayBegin(who, j, minute), err) {
		m.begin(who, j, minute, got.ClockEntry.Name)
	}
}

func (m *model) off(rt *rapid.T) {
	who, minute := m.who(rt), m.when(rt)
	_, err := m.f.clocks.ClockOff(svctest.Ctx(m.t), clockOff(m.people[who], minute))
	e := m.open(who)
	if m.agree(rt, "clock off", e != nil && minute > e.Start, err) {
		e.End = minute
	}
}

func (m *model) pause(rt *rapid.T) {
	who, minute := m.who(rt), m.when(rt)
	_, err := m.f.clocks.PauseClock(svctest.Ctx(m.t), &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: m.people[who], PauseTime: at(minute)})
	e := m.open(who)
	if m.agree(rt, "pause", e != nil && minute > e.Start, err) {
		e.End, e.Paused = minute, true
	}
}

func (m *model) resume(rt *rapid.T) {
	who, minute := m.who(rt), m.when(rt)
	got, err := m.f.clocks.ResumeClock(svctest.Ctx(m.t), &workflowv1.ResumeClockRequest{RequestId: svctest.NewID(), Person: m.people[who], ResumeTime: at(minute)})
	var last *worked
	for i := range m.entries[who] {
		if e := &m.entries[who][i]; last == nil || e.Start > last.Start {
			last = e
		}
	}
	if m.agree(rt, "resume", last != nil && last.Paused && last.End != 0 && m.mayBegin(who, last.Job, minute), err) {
		m.begin(who, last.Job, minute, got.ClockEntries[0].Name)
	}
}

func (m *model) switchOver(rt *rapid.T) {
	who, j, minute := m.who(rt), m.job(rt), m.when(rt)
	r := &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: m.people[who], SwitchTime: at(minute)}
	if r.Indirect = "pick_up"; j != indirect {
		r.Indirect, r.Stage = "", m.stages[j].name
	}
	got, err := m.f.clocks.SwitchClock(svctest.Ctx(m.t), r)
	e := m.open(who)
	could := false
	if e != nil && minute > e.Start {
		e.End = minute
		if could = m.mayBegin(who, j, minute); !could {
			e.End = 0
		}
	}
	if m.agree(rt, "switch", could, err) {
		m.begin(who, j, minute, got.Begun[0].Name)
	}
}

func (m *model) record(rt *rapid.T) {
	who, j, to := m.who(rt), m.job(rt), m.when(rt)
	from := max(0, to-rapid.IntRange(0, 12).Draw(rt, "length"))
	r := &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: m.people[who], StartTime: at(from), EndTime: at(to), Reason: "nobody clocked it"}
	if r.Indirect = "training"; j != indirect {
		r.Indirect, r.Stage = "", m.stages[j].name
	}
	got, err := m.f.clocks.RecordClockEntry(svctest.Ctx(m.t), r)
	able := j == indirect || !m.stages[j].skilled || m.skilled[who]
	if m.agree(rt, "record", able && to > from && m.free(who, from, to), err) {
		m.begin(who, j, from, got.ClockEntry.Name)
		m.entries[who][len(m.entries[who])-1].End = to
	}
}

func (m *model) takeAway(rt *rapid.T) {
	who := m.who(rt)
	if len(m.entries[who]) == 0 {
		return
	}
	i := rapid.IntRange(0, len(m.entries[who])-1).Draw(rt, "entry")
	e := m.entries[who][i]
	_, err := m.f.clocks.CorrectClockEntry(svctest.Ctx(m.t), &workflowv1.CorrectClockEntryRequest{RequestId: svctest.NewID(), ClockEntry: e.name, Reason: "it was not done"})
	if m.agree(rt, "take away", e.End != 0, err) {
		m.entries[who] = slices.Delete(m.entries[who], i, i+1)
	}
}

func (m *model) assign(rt *rapid.T) {
	who, stage := rapid.IntRange(-1, len(m.people)-1).Draw(rt, "to"), m.which(rt)
	r := &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: m.stages[stage].name, AssignTime: at(m.when(rt))}
	if who >= 0 {
		r.Person = m.people[who]
	}
	_, err := m.f.stages.AssignStage(svctest.Ctx(m.t), r)
	s := &m.stages[stage]
	if m.agree(rt, "assign", s.finished == 0 && !m.onIt(stage) && (who < 0 || !s.skilled || m.skilled[who]), err) {
		s.assignee = who
	}
}

func (m *model) finish(rt *rapid.T) {
	stage, minute := m.which(rt), m.when(rt)
	_, err := m.f.stages.FinishStage(svctest.Ctx(m.t), finishing(m.stages[stage].name, minute))
	s := &m.stages[stage]
	late := len(s.backs) == 0 || minute >= s.backs[len(s.backs)-1]
	for who := range m.people {
		for _, e := range m.entries[who] {
			late = late && (e.Job != stage || e.Pass != int32(1+len(s.backs)) || e.End <= minute)
		}
	}
	if m.agree(rt, "finish", s.finished == 0 && m.ready(stage) && !m.onIt(stage) && late, err) {
		s.finished = minute
	}
}

func (m *model) sendBack(rt *rapid.T) {
	stage, minute := m.which(rt), m.when(rt)
	_, err := m.f.stages.SendBackStage(svctest.Ctx(m.t), sendingBack(m.stages[stage].name, minute))
	could := m.stages[stage].finished != 0
	built := map[int]bool{stage: true}
	for i, s := range m.stages { // in the order of the work
		built[i] = built[i] || slices.ContainsFunc(s.before, func(b int) bool { return built[b] })
		if built[i] {
			could = could && !m.onIt(i) && (s.finished == 0 || minute >= s.finished)
		}
	}
	if !m.agree(rt, "send back", could, err) {
		return
	}
	for i := range m.stages {
		if s := &m.stages[i]; built[i] && s.finished != 0 {
			s.finished, s.backs = 0, append(s.backs, minute)
		}
	}
}

// compare looks at everything that the service shows.
func (m *model) compare(rt *rapid.T) {
	for who, person := range m.people {
		var got []worked
		for _, e := range m.f.entries(m.t, person) {
			if e.Superseded {
				continue
			}
			w := worked{Job: slices.IndexFunc(m.stages, func(s modelStage) bool { return s.name == e.Stage }), Start: minuteOf(e.StartTime), Pass: e.Pass, Paused: e.Paused}
			if e.EndTime != nil {
				w.End = minuteOf(e.EndTime)
			}
			got = append(got, w)
		}
		want := slices.SortedFunc(slices.Values(m.entries[who]), func(a, b worked) int { return a.Start - b.Start })
		if diff := cmp.Diff(want, got, cmp.Comparer(func(a, b worked) bool { a.name, b.name = "", ""; return a == b })); diff != "" {
			rt.Fatalf("entries of person %d (-model +service):\n%s", who, diff)
		}
	}
	r, err := m.f.stages.ListStages(m.t.Context(), &workflowv1.ListStagesRequest{Piece: m.piece})
	if err != nil {
		rt.Fatal(err)
	}
	for i, s := range r.Stages {
		if want := m.state(i); s.State != want || s.Pass != int32(1+len(m.stages[i].backs)) {
			rt.Fatalf("stage %d is %v in pass %d, by the model %v in pass %d", i, s.State, s.Pass, want, 1+len(m.stages[i].backs))
		}
	}
}

func (m *model) state(stage int) workflowv1.Stage_State {
	switch {
	case m.stages[stage].finished != 0:
		return workflowv1.Stage_STATE_FINISHED
	case m.onIt(stage):
		return workflowv1.Stage_STATE_IN_WORK
	case !m.ready(stage):
		return workflowv1.Stage_STATE_WAITING
	}
	return workflowv1.Stage_STATE_READY
}
