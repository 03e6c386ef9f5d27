package planning

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/planner"
	"tackfree/services/workflow/internal/workflow"
)

// unplaced notes the stages without a place, by tag and in the order of the work, and which jobs they are.
func (m *maker) unplaced(out *Plan, solved *planner.Plan) map[int]bool {
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
		r := m.because(u, left)
		for i, s := range j.stages {
			out.Unplaced = append(out.Unplaced, Unplaced{Stage: s, Piece: &m.Pieces[j.pieces[i]], Why: r.why, Text: r.text})
		}
	}
	slices.SortStableFunc(out.Unplaced, func(a, b Unplaced) int {
		return cmp.Or(cmp.Compare(a.Piece.Piece.Tag, b.Piece.Piece.Tag), cmp.Compare(a.Stage.Position, b.Stage.Position))
	})
	return left
}

// because says why a job has no place.
func (m *maker) because(u planner.Unplaced, left map[int]bool) reason {
	j := m.jobs[u.Operation]
	switch {
	case j.cannot != nil:
		return *j.cannot
	case u.Why == planner.BeforeIt:
		return reason{Waits, m.waitsFor(j, left)}
	case u.Why == planner.NobodyCan:
		return reason{NobodyCan, m.tooLong(j, m.p.Operations[u.Operation])}
	}
	return reason{NoTime, fmt.Sprintf("Until %s everybody who can do %s is taken; have somebody else learn it, or promise less.",
		day(m.instant(m.p.Horizon)), j.first().Title())}
}

// waitsFor names what a job waits for that has no place.
func (m *maker) waitsFor(j *job, left map[int]bool) string {
	for i, s := range j.stages {
		for k := range m.Pieces[j.pieces[i]].Stages {
			b := &m.Pieces[j.pieces[i]].Stages[k]
			if op, known := m.opOf[b.ID]; known && left[op] && slices.Contains(s.After, b.ID) {
				return fmt.Sprintf("%s comes after %s, which has no place; see there.", s.Title(), b.Title())
			}
		}
	}
	return fmt.Sprintf("%s waits for something that has no place; see there.", j.first().Title())
}

// tooLong says that a job does not fit between the breaks of anybody.
func (m *maker) tooLong(j *job, o planner.Operation) string {
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
	return fmt.Sprintf("%s takes %d minutes at a stretch, and nobody who can do it works that long%s; change when they work, or plan it in less.", s.Title(), least, where)
}

// mostNamed is how many people a sentence names.
const mostNamed = 3

// nobody says why nobody can do a job; skilled: some have the skill, and may not work there.
func (m *maker) nobody(j *job, skilled bool) string {
	s := j.first()
	if skilled {
		return fmt.Sprintf("Nobody who can do %s may use a %s; have the lead allow it.", s.Title(), s.Station)
	}
	if s.Assignee != id.Nil {
		return fmt.Sprintf("%s is %s's, who does not have what it takes or has no working days; give it to somebody else, or say when they work.", s.Title(), s.AssignedTo)
	}
	if w, known := m.person[m.pinnedTo(j)]; known {
		return fmt.Sprintf("%s is pinned to %s, who does not have what it takes or has no working days; unpin it, or say when they work.", s.Title(), m.People[w].Name)
	}
	var idle []string
	for w, p := range m.People {
		left := !p.ActiveTo.IsZero() && p.ActiveTo.Before(m.Now)
		if !m.works[w] && !left && len(idle) < mostNamed && p.Can(s.Skill, s.SkillLevel) {
			idle = append(idle, p.Name)
		}
	}
	switch {
	case len(idle) > 0:
		return fmt.Sprintf("Nobody who can do %s has working days: %s. Say when they work.", s.Title(), strings.Join(idle, ", "))
	case s.Skill == "":
		return fmt.Sprintf("There is nobody to do %s; add people and say when they work.", s.Title())
	case s.SkillLevel > 0:
		return fmt.Sprintf("Nobody has the skill %q at level %d, which %s takes; note it of who has it, or have somebody learn it.", s.Skill, s.SkillLevel, s.Title())
	}
	return fmt.Sprintf("Nobody has the skill %q, which %s takes; note it of who has it, or have somebody learn it.", s.Skill, s.Title())
}

func noRoom(j *job) string {
	s := j.first()
	return fmt.Sprintf("No %s of the shop is fit for %s, or has room for it; see what may be done there, and how much fits.", s.Station, s.Title())
}

func never(s workflow.Stage) string {
	return fmt.Sprintf("In the air where it stands, what lies below %s is never dry enough; warm or dry that air, or carry it elsewhere.", s.Title())
}

// overdue says that a part is still not back.
func (o Outing) overdue(s workflow.Stage) string {
	return fmt.Sprintf("%s has what %s is done on and was to bring it back by %s; ask when it comes.", o.Firm, s.Title(), day(o.Due))
}

func day(t time.Time) string { return t.Format("Mon 2 Jan 2006") }
