package planning

import (
	"slices"
	"time"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/planner"
	"tackfree/pkg/sentence"
	"tackfree/services/workflow/internal/workflow"
)

// job is what is one operation of the problem: a stage, or the stages of a batch.
type job struct {
	stages  []*workflow.Stage
	pieces  []int // of each stage, index into the facts
	running []Running
	cannot  *reason // known before anything is placed; nil: nothing
	missed  bool    // the recoat window below it has closed
}

// reason is why a job has no place.
type reason struct {
	why  Why
	says sentence.Sentence
}

// first is the stage that tells what all of them need.
func (j *job) first() *workflow.Stage { return j.stages[0] }

// attended is how long all of it takes by its plan.
func (j *job) attended() (sum time.Duration) {
	for _, s := range j.stages {
		sum += s.Attended
	}
	return sum
}

// leavesFilm reports whether it lays a coat, which is not left half laid.
func (j *job) leavesFilm() bool {
	return slices.ContainsFunc(j.stages, func(s *workflow.Stage) bool { return finish.Kind(s.Kind).LeavesFilm() })
}

// collect makes the jobs, in the order of the facts. Without batches each stage is one by itself.
func (m *maker) collect(batches bool) {
	byBatch := map[id.ID]int{}
	for i := range m.Pieces {
		for k := range m.Pieces[i].Stages {
			s := &m.Pieces[i].Stages[k]
			if s.Finished() {
				continue
			}
			op, known := byBatch[s.Batch]
			if !known || s.Batch == id.Nil || !batches {
				op = len(m.jobs)
				m.jobs, byBatch[s.Batch] = append(m.jobs, &job{}), op
			}
			j := m.jobs[op]
			j.stages, j.pieces = append(j.stages, s), append(j.pieces, i)
			m.opOf[s.ID] = op
		}
	}
	for _, r := range m.Running {
		if op, known := m.opOf[r.Stage]; known {
			m.jobs[op].join(r)
		}
	}
}

// join has somebody be on the clock at the job; on a batch they are so at each stage.
func (j *job) join(r Running) {
	if !slices.ContainsFunc(j.running, func(o Running) bool { return o.Person == r.Person }) {
		j.running = append(j.running, r)
	}
}

// operation makes the operation of a job.
func (m *maker) operation(j *job) (planner.Operation, error) {
	o := planner.Operation{ID: j.first().ID.String(), Piece: m.pressing(j), Demand: 1, Colour: m.colour[j.first().Product]}
	switch {
	case m.outing(j, &o):
		return o, nil
	case len(j.running) > 0:
		return o, nil
	}
	m.stand(j, &o)
	if err := m.hands(j, &o); err != nil {
		return o, err
	}
	m.keep(j, &o)
	return o, nil
}

// pressing is the piece of a job that is due first.
func (m *maker) pressing(j *job) int {
	return slices.MinFunc(j.pieces, func(a, b int) int { return m.p.Pieces[a].Due - m.p.Pieces[b].Due })
}

// keep puts what is pinned of a job on its operation. With several pins of a batch the last time holds.
func (m *maker) keep(j *job, o *planner.Operation) {
	for _, s := range j.stages {
		if pin, pinned := m.Pins[s.ID]; pinned && !pin.At.IsZero() {
			o.Earliest, o.Pinned = max(o.Earliest, m.at(pin.At)), true
		}
	}
}

// outing puts a job off until its part is back, and tells whether it is what others do.
func (m *maker) outing(j *job, o *planner.Operation) (theirs bool) {
	for i, s := range j.stages {
		for _, out := range m.Pieces[j.pieces[i]].Out {
			if !s.On(out.Part) && out.Stage != s.ID {
				continue
			}
			back := m.back(out)
			if back <= 0 {
				j.cannot = &reason{Away, out.overdue(s)}
			}
			o.Earliest = max(o.Earliest, back)
			theirs = theirs || out.Stage == s.ID
		}
	}
	if theirs {
		o.Modes = []planner.Mode{{Worker: planner.NoWorker}}
	}
	return theirs
}

// back is when a part that is due on a day is here: by the end of it.
func (m *maker) back(out Outing) planner.Minute {
	y, mo, d := out.Due.Date()
	return m.at(time.Date(y, mo, d+1, 0, 0, 0, 0, m.Now.Location()))
}
