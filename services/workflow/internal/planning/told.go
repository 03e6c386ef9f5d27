package planning

import (
	"tackfree/pkg/id"
	"tackfree/pkg/planner"
	"tackfree/services/workflow/internal/workflow"
)

// known is the plan that people know, as one of the problem; nil: they know none.
func (m *maker) known() *planner.Plan {
	if len(m.Published) == 0 {
		return nil
	}
	return m.slots(m.Published)
}

// slots makes a plan of the problem of the places of stages. Jobs that nothing was said of are left out, and so are
// those whose stages were to be done by several or at several places.
func (m *maker) slots(told map[id.ID]Told) *planner.Plan {
	plan := &planner.Plan{Slots: make([]planner.Slot, len(m.p.Operations))}
	for op := range m.p.Operations {
		slot, known := planner.Slot{}, false
		if op < len(m.jobs) {
			slot, known = m.slot(m.jobs[op], told)
		}
		if !known {
			plan.Left = append(plan.Left, planner.Unplaced{Operation: op, Why: planner.AfterHorizon})
			continue
		}
		plan.Slots[op] = slot
	}
	return plan
}

// marks puts into a plan what is no job: what is fixed where it is, and marks at the end of what they mark.
func (m *maker) marks(known *planner.Plan) {
	placed := map[int]bool{}
	for _, f := range m.p.Fixed {
		known.Slots[f.Operation], placed[f.Operation] = f.Slot, true
	}
	left := known.Left[:0]
	for _, u := range known.Left {
		if !placed[u.Operation] && !m.behind(known, u.Operation) {
			left = append(left, u)
		}
	}
	known.Left = left
}

// behind puts a mark behind the job that it marks.
func (m *maker) behind(known *planner.Plan, op int) bool {
	if op < len(m.jobs) {
		return false
	}
	for _, l := range m.p.Lags {
		if l.To == op && l.From < len(m.jobs) && known.Slots[l.From] != (planner.Slot{}) {
			end := known.Slots[l.From].End
			known.Slots[op] = planner.Slot{Worker: planner.NoWorker, Station: planner.NoStation, Start: end, End: end}
			return true
		}
	}
	return false
}

// slot is the place of a job: from the first of its stages to the end of the last.
func (m *maker) slot(j *job, told map[id.ID]Told) (slot planner.Slot, known bool) {
	for i, s := range j.stages {
		at, told := told[s.ID]
		if !told || at.Pass != s.Pass() {
			return slot, false
		}
		is := planner.Slot{Worker: planner.NoWorker, Station: planner.NoStation, Start: m.at(at.Start), End: m.at(at.End)}
		var ok bool
		if is.Worker, ok = find(m.person, at.Person, planner.NoWorker); !ok {
			return slot, false
		}
		if is.Station, ok = find(m.station, at.Station, planner.NoStation); !ok {
			return slot, false
		}
		if i > 0 {
			if is.Worker != slot.Worker || is.Station != slot.Station {
				return slot, false
			}
			is.Start, is.End = min(is.Start, slot.Start), max(is.End, slot.End)
		}
		slot = is
	}
	return slot, true
}

// find is where somebody or something stands among all; nobody is none.
func find(among map[id.ID]int, which id.ID, none int) (int, bool) {
	if which == id.Nil {
		return none, true
	}
	i, known := among[which]
	return i, known
}

// otherwise is what people know of a stage, where it is at other hands or another time now.
func (m *maker) otherwise(s *workflow.Stage, p *Placed) *Known {
	told, known := m.Published[s.ID]
	if !known || told.Pass != s.Pass() || p.InWork {
		return nil
	}
	var person *workflow.Person
	if i, there := m.person[told.Person]; there {
		person = &m.People[i]
	}
	if told.Start.Equal(p.Start) && person == p.Person {
		return nil
	}
	return &Known{person, told.Start}
}

// Told gives the places of a plan, of each stage once: of several at it, whoever is its first.
func (p *Plan) Told() (all []Told) {
	seen := map[id.ID]bool{}
	for _, at := range p.Placed {
		if seen[at.Stage.ID] || at.Piece.Piece.ID == id.Nil {
			continue
		}
		seen[at.Stage.ID] = true
		t := Told{Piece: at.Piece.Piece.ID, Stage: at.Stage.ID, Pass: at.Stage.Pass(), Start: at.Start, End: at.End}
		if at.Person != nil {
			t.Person = at.Person.ID
		}
		if at.Station != nil {
			t.Station = at.Station.ID
		}
		all = append(all, t)
	}
	return all
}

// byStage gives the places of a plan by their stages.
func (p *Plan) byStage() map[id.ID]Told {
	told := map[id.ID]Told{}
	for _, t := range p.Told() {
		told[t.Stage] = t
	}
	return told
}
