package planning

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/planner"
	"tackfree/pkg/sentence"
	"tackfree/services/workflow/internal/workflow"
)

// unplaced notes the stages without a place, by tag and in the order of the work, and which jobs they are.
func (m *maker) unplaced(out *Plan, solved *planner.Plan) (map[int]bool, error) {
	left := map[int]bool{}
	for _, u := range solved.Left {
		if u.Operation < len(m.jobs) {
			left[u.Operation] = true
		}
	}
	for _, u := range solved.Left {
		if !left[u.Operation] {
			continue
		}
		j := m.jobs[u.Operation]
		r, err := m.because(u, left)
		if err != nil {
			return nil, err
		}
		for i, s := range j.stages {
			out.Unplaced = append(out.Unplaced, Unplaced{Stage: s, Piece: &m.Pieces[j.pieces[i]], Why: r.why, Says: r.says})
		}
	}
	slices.SortStableFunc(out.Unplaced, func(a, b Unplaced) int {
		return cmp.Or(cmp.Compare(a.Piece.Piece.Tag, b.Piece.Piece.Tag), cmp.Compare(a.Stage.Position, b.Stage.Position))
	})
	return left, nil
}

// because says why a job has no place.
func (m *maker) because(u planner.Unplaced, left map[int]bool) (reason, error) {
	j := m.jobs[u.Operation]
	switch {
	case j.cannot != nil:
		return *j.cannot, nil
	case u.Why == planner.BeforeIt:
		return reason{Waits, m.waitsFor(j, left)}, nil
	case u.Why == planner.NobodyCan:
		return reason{NobodyCan, m.tooLong(j, m.p.Operations[u.Operation])}, nil
	}
	if says, ok, err := m.inWay(&m.p, u.Operation); ok || err != nil {
		return reason{NoTime, says}, err
	}
	end := m.instant(m.p.Horizon)
	return reason{NoTime, about(j.first(), "EVERYBODY_TAKEN", "Until %s everybody who can do %s is taken; have somebody else learn it, or promise less.",
		day(end), j.first().Title()).On("until_date", end)}, nil
}

// about is a sentence about a stage.
func about(s *workflow.Stage, reason, format string, args ...any) sentence.Sentence {
	return sentence.New(reason, format, args...).With("stage", s.Title()).With("kind", s.Kind)
}

// putOff says that a stage may not begin before the plan ends.
func (m *maker) putOff(s *workflow.Stage, until planner.Minute) sentence.Sentence {
	back, end := m.instant(until), m.instant(m.p.Horizon)
	return about(s, "PUT_OFF", "%s is put off until %s, and plans are made until %s.", s.Title(), day(back), day(end)).On("back_date", back).On("until_date", end)
}

// waitsFor names what a job waits for that has no place.
func (m *maker) waitsFor(j *job, left map[int]bool) sentence.Sentence {
	for i, s := range j.stages {
		for k := range m.Pieces[j.pieces[i]].Stages {
			b := &m.Pieces[j.pieces[i]].Stages[k]
			if op, known := m.opOf[b.ID]; known && left[op] && slices.Contains(s.After, b.ID) {
				return about(s, "AFTER_UNPLACED", "%s comes after %s, which has no place; see there.", s.Title(), b.Title()).With("before", b.Title()).With("before_kind", b.Kind)
			}
		}
	}
	return about(j.first(), "WAITS_FOR_UNPLACED", "%s waits for something that has no place; see there.", j.first().Title())
}

// tooLong says that a job does not fit between the breaks of anybody.
func (m *maker) tooLong(j *job, o planner.Operation) sentence.Sentence {
	s, least := j.first(), o.Modes[0].Minutes
	for _, mode := range o.Modes {
		least = min(least, mode.Minutes)
	}
	where := ""
	if len(o.Stations) > 0 {
		where = " while a " + s.Station + " is open"
	}
	if len(o.With) > 0 {
		where = " together" + where
	}
	return about(s, "TOO_LONG", "%s takes %d minutes at a stretch, and nobody who can do it works that long%s; change when they work, or plan it in less.", s.Title(), least, where).
		With("minutes", strconv.Itoa(least))
}

// nobody says why nobody can do a job at stations; skilled: some have the skill, and may not work there.
func (m *maker) nobody(j *job, stations []int, skilled bool) sentence.Sentence {
	s := j.first()
	if names := strings.Join(m.unwilling(j, stations), ", "); names != "" {
		return about(s, "REFUSED_BY_ALL", "Nobody can do %s but who refused it: %s. Give it to them all the same, or have somebody else learn it.", s.Title(), names).With("people", names)
	}
	if skilled {
		return about(s, "STATION_CLOSED_TO_ALL", "Nobody who can do %s may use a %s; have the lead allow it.", s.Title(), s.Station).With("station", s.Station)
	}
	if s.Assignee != id.Nil {
		return about(s, "ASSIGNEE_CANNOT", "%s is %s's, who does not have what it takes or has no working days; give it to somebody else, or say when they work.", s.Title(), s.AssignedTo).
			With("person", s.AssignedTo)
	}
	if w, known := m.person[m.pinnedTo(j)]; known {
		return about(s, "PINNED_CANNOT", "%s is pinned to %s, who does not have what it takes or has no working days; unpin it, or say when they work.", s.Title(), m.People[w].Name).
			With("person", m.People[w].Name)
	}
	if idle := m.idle(s); len(idle) > 0 {
		names := strings.Join(idle, ", ")
		return about(s, "NO_WORKING_DAYS", "Nobody who can do %s has working days: %s. Say when they work.", s.Title(), names).With("people", names)
	}
	return unskilled(s)
}

// unwilling names people who could do a job at one of some stations, none for anywhere, and refused it. Of what is
// somebody's they are not asked.
func (m *maker) unwilling(j *job, stations []int) (names []string) {
	if j.first().Assignee != id.Nil || m.pinnedTo(j) != id.Nil {
		return nil
	}
	for w, p := range m.People {
		if m.able(j, w) && m.refuses(j, w) && (len(stations) == 0 || len(m.admitted(j, w, stations)) > 0) {
			names = append(names, p.Name)
		}
	}
	return names
}

// idle names people who could do a stage and of whom nobody said when they work.
func (m *maker) idle(s *workflow.Stage) (idle []string) {
	for w, p := range m.People {
		left := !p.ActiveTo.IsZero() && p.ActiveTo.Before(m.Now)
		if !m.works[w] && !left && p.Can(s.Skill, s.SkillLevel) {
			idle = append(idle, p.Name)
		}
	}
	return idle
}

// unskilled says that nobody has what a stage takes.
func unskilled(s *workflow.Stage) sentence.Sentence {
	switch {
	case s.Skill == "":
		return about(s, "NOBODY_THERE", "There is nobody to do %s; add people and say when they work.", s.Title())
	case s.SkillLevel > 0:
		return about(s, "SKILL_LEVEL_OF_NOBODY", "Nobody has the skill %q at level %d, which %s takes; note it of who has it, or have somebody learn it.", s.Skill, s.SkillLevel, s.Title()).
			With("skill", s.Skill).With("level", strconv.Itoa(int(s.SkillLevel)))
	}
	return about(s, "SKILL_OF_NOBODY", "Nobody has the skill %q, which %s takes; note it of who has it, or have somebody learn it.", s.Skill, s.Title()).With("skill", s.Skill)
}

func noRoom(j *job) sentence.Sentence {
	s := j.first()
	return about(s, "NO_STATION_FIT", "No %s of the shop is fit for %s, or has room for it; see what may be done there, and how much fits.", s.Station, s.Title()).With("station", s.Station)
}

func never(s *workflow.Stage) sentence.Sentence {
	return about(s, "NEVER_DRY", "In the air where it stands, what lies below %s is never dry enough; warm or dry that air, or carry it elsewhere.", s.Title())
}

// overdue says that a part is still not back.
func (o Outing) overdue(s *workflow.Stage) sentence.Sentence {
	return about(s, "NOT_BROUGHT_BACK", "%s has what %s is done on and was to bring it back by %s; ask when it comes.", o.Firm, s.Title(), day(o.Due)).
		With("firm", o.Firm).On("due_date", o.Due)
}

func day(t time.Time) string { return t.Format("Mon 2 Jan 2006") }
