package planning

import (
	"math"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/planner"
	"tackfree/services/workflow/internal/workflow"
)

const (
	// splits is the hands-on time above which work may be left for a break or for the night. Common practice.
	splits = 60 * time.Minute
	// leastLeft is how long a stage still takes that took as long as planned and is not finished. Common
	// practice.
	leastLeft = 5 * time.Minute
)

// stand says at which stations a job can be done. Where the shop has none of the kind that it asks for, it
// is done anywhere, as when somebody clocks on. The room it takes is counted as the first of them counts it;
// those that count otherwise are left out.
func (m *maker) stand(j *job, o *planner.Operation) {
	kind := workflow.StationKind(j.first().Station)
	there := false
	var unit workflow.StationUnit
	for i := range m.Stations {
		st := &m.Stations[i]
		if kind == "" || st.Kind != kind || st.Retired {
			continue
		}
		there = true
		takes := m.room(j, st.Unit)
		if slices.ContainsFunc(j.stages, func(s *workflow.Stage) bool { return !st.Suits(*s) }) || takes > int(st.Capacity) || (unit != "" && st.Unit != unit) {
			continue
		}
		unit = st.Unit
		o.Stations, o.Demand = append(o.Stations, i), takes
	}
	if there && len(o.Stations) == 0 {
		j.cannot = &reason{NobodyCan, noRoom(j)}
	}
}

// room is how many units of a station a job takes.
func (m *maker) room(j *job, unit workflow.StationUnit) (units int) {
	pieces := map[int]bool{}
	for i, s := range j.stages {
		pieces[j.pieces[i]] = true
		units += m.count(&m.Pieces[j.pieces[i]], s.Part)
	}
	if unit == workflow.InPieces {
		return len(pieces)
	}
	return units
}

// count is how many of a part there are, or with id.Nil how many parts the piece has.
func (m *maker) count(p *Piece, part id.ID) int {
	if part != id.Nil {
		return max(1, int(p.Counts[part]))
	}
	all := 0
	for _, n := range p.Counts {
		all += int(n)
	}
	return max(1, all)
}

// hands says who can do a job, and how long each of them takes.
func (m *maker) hands(j *job, o *planner.Operation) error {
	if j.attended() == 0 {
		o.Modes = []planner.Mode{{Worker: planner.NoWorker, Minutes: int(m.unattended(j) / time.Minute)}}
		return nil
	}
	who, crew := m.who(j)
	for _, w := range who {
		minutes, err := m.minutes(j, w, 1+len(crew))
		if err != nil {
			return err
		}
		mode := planner.Mode{Worker: w, Minutes: minutes, Stations: o.Stations}
		for _, each := range append([]int{w}, crew...) {
			mode.Stations = m.admitted(j, each, mode.Stations)
		}
		if len(o.Stations) == 0 || len(mode.Stations) > 0 {
			o.Modes = append(o.Modes, mode)
		}
	}
	o.With, o.Splittable = crew, !j.leavesFilm() && j.attended() > splits
	if len(o.Modes) == 0 && j.cannot == nil {
		j.cannot = &reason{NobodyCan, m.nobody(j, o.Stations, len(who) > 0)}
	}
	return nil
}

// unattended is how long a job takes that nobody attends.
func (m *maker) unattended(j *job) (longest time.Duration) {
	for _, s := range j.stages {
		longest = max(longest, s.Unattended)
	}
	return longest
}

// who are those who could do a job: whoever has it, and beside them who has it with them; or else to whom
// it is pinned; or else all who can.
func (m *maker) who(j *job) (who, crew []int) {
	if held := m.holders(j); len(held) > 0 {
		held = slices.DeleteFunc(held, func(w int) bool { return !m.can(j, w) })
		if len(held) == 0 {
			return nil, nil
		}
		return held[:1], held[1:]
	}
	pinned := m.pinnedTo(j)
	for w := range m.People {
		if m.can(j, w) && (pinned == id.Nil || m.People[w].ID == pinned) {
			who = append(who, w)
		}
	}
	return who, nil
}

// holders are those who have a job by hand, as its stages name them, each once.
func (m *maker) holders(j *job) (held []int) {
	for _, s := range j.stages {
		if s.Assignee == id.Nil || m.byPlan(s) {
			continue
		}
		for _, h := range append([]workflow.Helper{{ID: s.Assignee}}, s.Helpers...) {
			if w, known := m.person[h.ID]; known && !slices.Contains(held, w) {
				held = append(held, w)
			}
		}
	}
	return held
}

// byPlan reports whether a stage is somebody's because a plan gave it to them.
func (m *maker) byPlan(s *workflow.Stage) bool {
	return s.ByPlan(m.Given[s.ID])
}

func (m *maker) pinnedTo(j *job) id.ID {
	for _, s := range j.stages {
		if pin := m.Pins[s.ID]; pin.Person != id.Nil {
			return pin.Person
		}
	}
	return id.Nil
}

// can reports whether somebody who is there some day has the skill for all of a job, and did not refuse it.
func (m *maker) can(j *job, w int) bool { return m.able(j, w) && !m.refuses(j, w) }

// able reports whether somebody who is there some day has the skill for all of a job.
func (m *maker) able(j *job, w int) bool {
	return m.works[w] && !slices.ContainsFunc(j.stages, func(s *workflow.Stage) bool { return !m.People[w].Can(s.Skill, s.SkillLevel) })
}

// refuses reports whether somebody does not want something of a job, which a pin to them overrules.
func (m *maker) refuses(j *job, w int) bool {
	person := m.People[w].ID
	return m.pinnedTo(j) != person && slices.ContainsFunc(j.stages, func(s *workflow.Stage) bool { return slices.Contains(m.Refused[s.ID], person) })
}

// admitted are the stations of some that somebody may use for a job.
func (m *maker) admitted(j *job, w int, stations []int) (may []int) {
	for _, st := range stations {
		if m.Stations[st].Admits(m.People[w], *j.first()) {
			may = append(may, st)
		}
	}
	return may
}

// minutes is how long somebody still takes for a job, when so many are at it.
func (m *maker) minutes(j *job, w, hands int) (int, error) {
	sum := 0.0
	for _, s := range j.stages {
		pace, err := m.pace(s, w)
		if err != nil {
			return 0, err
		}
		left := s.Attended.Minutes()*pace - m.Worked[s.ID].Minutes()
		if m.Worked[s.ID] > 0 {
			left = max(left, leastLeft.Minutes())
		}
		sum += left
	}
	return max(1, int(math.Ceil(sum/float64(hands)-1e-9))), nil
}

// pace is how many times the planned time somebody takes for a stage.
func (m *maker) pace(s *workflow.Stage, w int) (float64, error) {
	var level int32
	for _, k := range m.People[w].Skills {
		if k.Word == s.Skill {
			level = k.Level
		}
	}
	return m.Labour.Pace(s.Kind, m.People[w].ID, level)
}
