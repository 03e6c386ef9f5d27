package planning

import (
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/planner"
)

// maker makes a problem of the facts, and a plan of its answer.
type maker struct {
	*Facts
	base    time.Time // of which the problem's minutes are counted
	p       planner.Problem
	doubt   planner.Doubt
	jobs    []*job // of the first operations; those behind are only marks
	opOf    map[id.ID]int
	person  map[id.ID]int
	station map[id.ID]int
	works   []bool // by person: there are days on which they do
	loose   map[int]bool
	colour  map[id.ID]int // by product

	explained int // jobs of which it was asked what is in their way
}

// before is how many times more than another piece one weighs that goes before all.
const before = 1000

// looks are how many weeks are looked at, one after the other, as long as stages are left for want of time.
var looks = []int{8, 16, 32, 52}

// newMaker makes the problem, and a plan that finds a place for what can have one. A batch that asks stages to come
// before themselves is taken apart with all others.
func newMaker(f *Facts) (*maker, *planner.Plan, error) {
	m, err := problem(f, true)
	if err != nil {
		return nil, nil, err
	}
	plan, err := m.place()
	if err == nil {
		return m, plan, nil
	}
	if m, err = problem(f, false); err != nil {
		return nil, nil, err
	}
	plan, err = m.place()
	return m, plan, err
}

func problem(f *Facts, batches bool) (*maker, error) {
	m := &maker{Facts: f, base: f.Now.Truncate(time.Minute), opOf: map[id.ID]int{}, person: map[id.ID]int{}, station: map[id.ID]int{}, loose: map[int]bool{}}
	for i, p := range f.People {
		m.person[p.ID] = i
		m.p.Workers = append(m.p.Workers, planner.Worker{ID: p.Name})
	}
	for i, s := range f.Stations {
		m.station[s.ID] = i
		m.p.Stations = append(m.p.Stations, planner.Station{ID: s.Word, Capacity: max(1, int(s.Capacity))})
	}
	m.calendars(looks[len(looks)-1])
	for _, w := range m.p.Workers {
		m.works = append(m.works, len(w.Calendar) > 0)
	}
	m.pieces()
	m.colours()
	m.collect(batches)
	return m, m.operations()
}

// pieces makes the planner's pieces. What one is worth weighs against what is usual: the median of those of
// which somebody knows it.
func (m *maker) pieces() {
	var known []int64
	for _, p := range m.Pieces {
		if p.Piece.Value != nil {
			known = append(known, max(1, *p.Piece.Value))
		}
	}
	usual := int64(1)
	if slices.Sort(known); len(known) > 0 {
		usual = known[(len(known)-1)/2]
	}
	for i := range m.Pieces {
		p := m.Pieces[i].Piece
		out := planner.Piece{ID: p.ID.String(), Due: planner.NoDue, Weight: 1}
		if p.Value != nil {
			out.Weight = float64(max(1, *p.Value)) / float64(usual)
		}
		if !p.Promised.IsZero() {
			out.Due = int(p.Promised.Sub(m.base) / time.Minute)
		}
		if !p.TakenIn.IsZero() {
			out.Release = min(0, m.at(p.TakenIn))
		}
		if m.first[i] {
			out.Due, out.Weight = 0, before*out.Weight
		}
		m.p.Pieces = append(m.p.Pieces, out)
	}
}

// operations makes the operations of the jobs, and what they wait for.
func (m *maker) operations() error {
	for _, j := range m.jobs {
		o, err := m.operation(j)
		if err != nil {
			return err
		}
		if o.Earliest >= m.p.Horizon { // the longest that is looked at
			j.cannot = &reason{NoTime, m.putOff(j.first(), o.Earliest)}
		}
		doubt := 0.0
		if j.attended() > 0 {
			if doubt, err = m.Labour.Doubt(j.first().Kind); err != nil {
				return err
			}
		}
		m.p.Operations, m.doubt.Operations = append(m.p.Operations, o), append(m.doubt.Operations, doubt)
	}
	for i := range m.Pieces {
		m.order(&m.Pieces[i])
	}
	for op, j := range m.jobs {
		if len(j.running) > 0 {
			j.cannot = nil
			if err := m.begin(op); err != nil {
				return err
			}
			continue
		}
		m.wet(op)
		m.shared(op)
		if j.cannot != nil {
			m.p.Operations[op].Modes = nil
		}
	}
	m.soiled()
	return nil
}

// shared has the other pieces of a batch end when it does.
func (m *maker) shared(op int) {
	j := m.jobs[op]
	others := slices.Compact(slices.Sorted(slices.Values(j.pieces)))
	for _, piece := range others {
		if piece == m.p.Operations[op].Piece {
			continue
		}
		m.p.Lags, m.doubt.Lags = append(m.p.Lags, planner.Lag{From: op, To: len(m.p.Operations), Max: planner.Forever}), append(m.doubt.Lags, 0)
		m.p.Operations = append(m.p.Operations, planner.Operation{ID: "batch", Piece: piece, Modes: []planner.Mode{{Worker: planner.NoWorker}}, Demand: 1})
	}
}

// place finds places within as many weeks as it takes. Where a recoat window is in the way of that, it is let close.
func (m *maker) place() (*planner.Plan, error) {
	for look := 0; ; {
		m.calendars(looks[look])
		plan, err := planner.Dispatch(&m.p)
		switch {
		case err != nil:
			return nil, err
		case m.loosen(plan):
		case look+1 < len(looks) && m.wantsTime(plan):
			look++
		default:
			return plan, nil
		}
	}
}

// loosen lets windows close between jobs that found no place, and tells whether there are any.
func (m *maker) loosen(plan *planner.Plan) (some bool) {
	left := map[int]bool{}
	for _, u := range plan.Left {
		left[u.Operation] = u.Operation >= len(m.jobs) || m.jobs[u.Operation].cannot == nil
	}
	for i := range m.p.Lags {
		if l := &m.p.Lags[i]; l.Max != planner.Forever && left[l.From] && left[l.To] {
			l.Max, m.loose[i], some = planner.Forever, true, true
		}
	}
	return some
}

// wantsTime reports whether jobs are left out that more weeks would have room for.
func (m *maker) wantsTime(plan *planner.Plan) bool {
	return slices.ContainsFunc(plan.Left, func(u planner.Unplaced) bool { return u.Why == planner.AfterHorizon })
}
