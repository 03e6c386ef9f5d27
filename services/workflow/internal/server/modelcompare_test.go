package server_test

import (
	"cmp"
	"slices"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// same compares what the lists know with what the service shows.
func same(rt *rapid.T, what string, want, got any) {
	options := gocmp.Options{cmpopts.IgnoreUnexported(worked{}, modelBatch{}, modelShare{}, modelOutside{}, modelPlace{}), cmpopts.EquateEmpty()}
	if diff := gocmp.Diff(want, got, options); diff != "" {
		rt.Fatalf("%s (-model +service):\n%s", what, diff)
	}
}

// compareNowAndThen compares after each fifth command: there is much to look at.
func (m *model) compareNowAndThen(rt *rapid.T) {
	if m.given++; m.given%5 == 0 {
		m.compare(rt, m.touched)
		m.touched = nil
	}
}

// compare looks at everything that the service shows of the pieces, and at all time of some
// people.
func (m *model) compare(rt *rapid.T, people []int) {
	for i, p := range m.pieces {
		m.compareStages(rt, i, p.name)
		m.compareOutside(rt, i, p.name)
		m.compareLooks(rt, i, p.name)
		m.compareEntries(rt, &workflowv1.ListClockEntriesRequest{Piece: p.name, PageSize: 500}, func(e worked) bool { return e.Job != indirect && m.stages[e.Job].piece == i })
	}
	for _, b := range m.batches {
		m.compareBatch(rt, b)
	}
	m.comparePlaces(rt)
	for _, who := range people {
		m.comparePerson(rt, who)
		m.compareReviews(rt, who)
	}
}

func (m *model) everybody() (all []int) {
	for who := range m.people {
		all = append(all, who)
	}
	return all
}

func (m *model) comparePerson(rt *rapid.T, who int) {
	m.compareEntries(rt, &workflowv1.ListClockEntriesRequest{Person: m.people[who], PageSize: 500}, func(e worked) bool { return e.Who == who })
}

func (m *model) compareEntries(rt *rapid.T, r *workflowv1.ListClockEntriesRequest, shown func(worked) bool) {
	resp, err := m.f.clocks.ListClockEntries(m.t.Context(), r)
	if err != nil {
		rt.Fatal(err)
	}
	var want, got []worked
	for _, e := range resp.ClockEntries {
		if !e.Superseded {
			got = append(got, worked{Who: slices.Index(m.people, e.Person), Job: m.stageNamed(e.Stage), Start: secondOf(e.StartTime), End: secondOf(e.EndTime), Pass: e.Pass, Paused: e.Paused,
				Batch: m.batchNamed(e.Batch), From: secondOf(e.StretchStartTime), To: secondOf(e.StretchEndTime),
				Station: m.stationNamed(e.Station), Sent: e.Device != ""})
		}
	}
	for _, e := range slices.Concat(m.entries...) {
		if shown(e) {
			want = append(want, e)
		}
	}
	order := func(a, b worked) int { return cmp.Or(a.Start-b.Start, a.Who-b.Who, a.Job-b.Job) }
	slices.SortFunc(want, order)
	slices.SortFunc(got, order)
	same(rt, "entries", want, got)
}

func (m *model) batchNamed(name string) int {
	return slices.IndexFunc(m.batches, func(b modelBatch) bool { return b.name == name })
}

func (m *model) stationNamed(name string) int {
	return slices.IndexFunc(m.stations, func(s modelStation) bool { return s.name == name })
}

// shownStage is a stage as the service shows it.
type shownStage struct {
	State      workflowv1.Stage_State
	Pass       int32
	Finished   int
	Backs      []int
	Has        []string
	OnTheClock []string
	Batch      int
}

func (m *model) compareStages(rt *rapid.T, piece int, name string) {
	r, err := m.f.stages.ListStages(m.t.Context(), &workflowv1.ListStagesRequest{Piece: name})
	if err != nil {
		rt.Fatal(err)
	}
	got, want := map[string]shownStage{}, map[string]shownStage{}
	for _, s := range r.Stages {
		shown := shownStage{State: s.State, Pass: s.Pass, Finished: secondOf(s.FinishTime), OnTheClock: slices.Sorted(slices.Values(s.OnTheClock)), Batch: m.batchNamed(s.Batch)}
		for _, b := range s.SendBackTimes {
			shown.Backs = append(shown.Backs, secondOf(b))
		}
		if s.Assignee != "" {
			shown.Has = append([]string{s.Assignee}, s.Helpers...)
		}
		got[s.Name] = shown
	}
	for i, s := range m.stages {
		if s.piece == piece {
			want[s.name] = m.shown(i)
		}
	}
	same(rt, "stages", want, got)
}

func (m *model) shown(stage int) shownStage {
	s := m.stages[stage]
	out := shownStage{State: m.state(stage), Pass: s.pass(), Finished: s.finished, Backs: s.backs, Batch: s.batch}
	for _, who := range s.has {
		out.Has = append(out.Has, m.people[who])
	}
	for _, who := range m.handsAt(stage) {
		out.OnTheClock = append(out.OnTheClock, m.called[who])
	}
	slices.Sort(out.OnTheClock)
	return out
}

func (m *model) state(stage int) workflowv1.Stage_State {
	switch {
	case m.isFinished(stage):
		return workflowv1.Stage_STATE_FINISHED
	case m.onIt(stage):
		return workflowv1.Stage_STATE_IN_WORK
	case m.isAway(stage):
		return workflowv1.Stage_STATE_AWAY
	case !m.ready(stage):
		return workflowv1.Stage_STATE_WAITING
	}
	return workflowv1.Stage_STATE_READY
}

func (m *model) compareBatch(rt *rapid.T, b modelBatch) {
	r, err := m.f.batches().GetBatch(m.t.Context(), &workflowv1.GetBatchRequest{Name: b.name})
	if err != nil {
		rt.Fatal(err)
	}
	got := modelBatch{State: r.Batch.State}
	for _, s := range r.Batch.Shares {
		got.Shares = append(got.Shares, modelShare{Stage: m.stageNamed(s.Stage), Pass: s.Pass, Weight: s.Weight, Left: s.LeftTime != nil})
	}
	same(rt, "batch", b, got)
}

func (m *model) compareOutside(rt *rapid.T, piece int, name string) {
	r, err := workflowv1.NewOutsideWorkServiceClient(m.f.Conn).ListOutsideWork(m.t.Context(), &workflowv1.ListOutsideWorkRequest{Piece: name, IncludeBack: true, PageSize: 500})
	if err != nil {
		rt.Fatal(err)
	}
	got, want := map[string]modelOutside{}, map[string]modelOutside{}
	for _, o := range r.OutsideWork {
		got[o.Name] = modelOutside{State: o.State, Part: slices.Index(m.pieces[piece].parts, o.Part), Stage: m.stageNamed(o.Stage), Sent: secondOf(o.SentTime), Back: secondOf(o.BackTime)}
	}
	for _, o := range m.outside {
		if o.piece == piece {
			want[o.name] = o
		}
	}
	same(rt, "outside work", want, got)
}

func (m *model) compareLooks(rt *rapid.T, piece int, name string) {
	r, err := workflowv1.NewInspectionServiceClient(m.f.Conn).ListInspections(m.t.Context(), &workflowv1.ListInspectionsRequest{Piece: name, PageSize: 500})
	if err != nil {
		rt.Fatal(err)
	}
	var got, want []modelLook
	for _, l := range r.Inspections {
		got = append(got, modelLook{Stage: m.stageNamed(l.Stage), By: slices.Index(m.people, l.Inspector), Passed: l.Passed, BackTo: m.stageNamed(l.BackTo), Pass: l.Pass, At: secondOf(l.InspectTime)})
	}
	for _, l := range m.looks {
		if m.stages[l.Stage].piece == piece {
			want = append(want, l)
		}
	}
	order := func(a, b modelLook) int { return cmp.Or(a.At-b.At, a.Stage-b.Stage, a.By-b.By, int(a.Pass-b.Pass)) }
	slices.SortFunc(want, order)
	slices.SortFunc(got, order)
	same(rt, "inspections", want, got)
}
