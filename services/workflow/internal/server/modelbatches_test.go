package server_test

import (
	"math"
	"slices"

	"pgregory.net/rapid"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

type modelBatch struct {
	State  workflowv1.Batch_State
	Shares []modelShare
	name   string
}

type modelShare struct {
	Stage  int
	Pass   int32
	Weight int64
	Left   bool
	since  int // when it left
}

func (b modelBatch) shareOf(stage int) *modelShare {
	return &b.Shares[slices.IndexFunc(b.Shares, func(s modelShare) bool { return s.Stage == stage })]
}

// in are the stages that are in an open batch.
func (m *model) in(batch int) (stages []int) {
	b := m.batches[batch]
	for _, s := range b.Shares {
		if b.State == workflowv1.Batch_STATE_OPEN && !s.Left {
			stages = append(stages, s.Stage)
		}
	}
	return stages
}

// until are the stages of work that ended at an instant: those that had not left before.
func (b modelBatch) until(at int) (stages []int) {
	for _, s := range b.Shares {
		if !s.Left || s.since >= at {
			stages = append(stages, s.Stage)
		}
	}
	return stages
}

// leave takes a stage out of its batch at an instant; the last one ends that.
func (m *model) leave(stage, at int, ends workflowv1.Batch_State) {
	batch := m.stages[stage].batch
	if batch == none {
		return
	}
	b, last := &m.batches[batch], len(m.in(batch)) == 1
	m.stages[stage].batch = none
	if last {
		b.State = ends
		return
	}
	share := b.shareOf(stage)
	share.Left, share.since = true, at
}

// form puts alike stages of both pieces into a batch.
func (m *model) form(rt *rapid.T) {
	like := m.which(rt, func(i int) bool { return m.loose(i) && m.ready(i) })
	stages := []int{like}
	for i, s := range m.stages {
		fits := s.kind == m.stages[like].kind && m.loose(i)
		if i != like && fits != (rapid.IntRange(0, 39).Draw(rt, "otherwise") == 39) {
			stages = append(stages, i)
		}
	}
	r := &workflowv1.FormBatchRequest{RequestId: svctest.NewID(), DisplayName: "batch " + svctest.NewID()}
	could := len(stages) > 1
	for _, i := range stages {
		r.Stages = append(r.Stages, m.stages[i].name)
		could = could && m.loose(i) && m.stages[i].kind == m.stages[like].kind
	}
	got, err := m.f.batches().FormBatch(svctest.Ctx(m.t), r)
	if !m.agree(rt, "form a batch", could, err) {
		return
	}
	b := modelBatch{State: workflowv1.Batch_STATE_OPEN, name: got.Batch.Name}
	for _, i := range stages {
		m.stages[i].batch = len(m.batches)
		b.Shares = append(b.Shares, modelShare{Stage: i, Pass: m.stages[i].pass(), Weight: max(1, m.stages[i].area)})
	}
	m.batches = append(m.batches, b)
}

// loose is a stage that could be put into a batch.
func (m *model) loose(stage int) bool {
	s := m.stages[stage]
	return s.finished == 0 && s.batch == none && !m.onIt(stage)
}

func (m *model) finishBatch(rt *rapid.T) {
	if len(m.batches) == 0 {
		return
	}
	at := m.when(rt)
	batch := pick(rt, "batch", len(m.batches), func(b int) bool { return m.mayFinish(b, at) })
	_, err := m.f.batches().FinishBatch(svctest.Ctx(m.t), &workflowv1.FinishBatchRequest{RequestId: svctest.NewID(), Batch: m.batches[batch].name, FinishTime: second(at)})
	if !m.agree(rt, "finish a batch", m.mayFinish(batch, at), err) {
		return
	}
	stages := m.in(batch)
	m.batches[batch].State = workflowv1.Batch_STATE_FINISHED
	for _, i := range stages {
		m.stages[i].finished, m.stages[i].batch = at, none
	}
}

// mayFinish is the rule of finishing a batch.
func (m *model) mayFinish(batch, at int) bool {
	stages := m.in(batch)
	return len(stages) > 0 && !slices.ContainsFunc(stages, func(i int) bool { return !m.mayEnd(i) || m.stages[i].inspects || !m.over(i, at) })
}

// takenOut is when stages are taken out of batches: after all that is told here.
const takenOut = math.MaxInt

func (m *model) leaveBatch(rt *rapid.T) {
	stage := m.which(rt, func(i int) bool { return m.stages[i].batch != none })
	_, err := m.f.batches().LeaveBatch(svctest.Ctx(m.t), &workflowv1.LeaveBatchRequest{RequestId: svctest.NewID(), Stage: m.stages[stage].name})
	if m.agree(rt, "leave a batch", m.stages[stage].batch != none && !m.onIt(stage), err) {
		m.leave(stage, takenOut, workflowv1.Batch_STATE_DISSOLVED)
	}
}

func (m *model) dissolve(rt *rapid.T) {
	if len(m.batches) == 0 {
		return
	}
	batch := pick(rt, "batch", len(m.batches), func(b int) bool { return len(m.in(b)) > 0 })
	_, err := m.f.batches().DissolveBatch(svctest.Ctx(m.t), &workflowv1.DissolveBatchRequest{RequestId: svctest.NewID(), Batch: m.batches[batch].name})
	stages := m.in(batch)
	if m.agree(rt, "dissolve", len(stages) > 0 && !slices.ContainsFunc(stages, m.onIt), err) {
		m.batches[batch].State = workflowv1.Batch_STATE_DISSOLVED
		for _, i := range stages {
			m.stages[i].batch = none
		}
	}
}
