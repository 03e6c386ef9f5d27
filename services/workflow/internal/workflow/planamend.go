package workflow

import (
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Amendment is what another version of a plan makes of a piece's stages.
type Amendment struct {
	Plan    FinishPlan // the new version
	Kept    []Stage    // as they now are
	Changed []Stage    // of those kept, what comes after others than before, or takes other times or another amount
	Added   []Stage
	Dropped []id.ID
	before  []PlanStage
}

// Amend makes the next version of the plan, of stages that somebody wrote. What was begun
// stays as it is; what was not is made as it now is written, and is the same stage if it
// has the same part, key, kind and product. Faults: PLAN_NOT_APPROVED, those of Revise,
// OVERRIDE_UNKNOWN, RULE_BROKEN.
func (p FinishPlan) Amend(f Floor, e Edits, l *Labour) (Amendment, error) {
	if err := p.amendable(); err != nil {
		return Amendment{}, err
	}
	body, err := p.Revise(f, e, l)
	if err != nil {
		return Amendment{}, err
	}
	if err := body.Answer(e.Overrides); err != nil {
		return Amendment{}, err
	}
	next := p
	next.Version, next.PlanBody = p.Version+1, body
	return Amendment{Plan: next, before: p.Stages}, body.broken()
}

// Approve makes the new version the approved one, and of its stages those of the piece.
func (a *Amendment) Approve(f Floor, actor, reason string, now time.Time, newID func() id.ID) {
	a.Plan.Actor, a.Plan.Reason, a.Plan.DraftedAt, a.Plan.ApprovedAt = actor, reason, now, now
	there := map[id.ID]Stage{}
	for _, s := range f.Stages {
		there[s.ID] = s
	}
	for _, s := range a.Plan.layOut(newID) {
		old, kept := there[s.ID]
		switch {
		case !kept:
			a.Added = append(a.Added, s)
			continue
		case f.Begun[s.ID]:
			old.Position, old.Amount, old.Method = s.Position, s.Amount, s.Method
			s = old
		default:
			s.Assignee, s.AssignedTo, s.Helpers, s.Batch = old.Assignee, old.AssignedTo, old.Helpers, old.Batch
		}
		a.Kept = append(a.Kept, s)
		if !sameIDs(old.After, s.After) || old.Attended != s.Attended || old.Unattended != s.Unattended || a.takesAnother(s) {
			a.Changed = append(a.Changed, s)
		}
		delete(there, s.ID)
	}
	for _, s := range f.Stages {
		if _, left := there[s.ID]; left {
			a.Dropped = append(a.Dropped, s.ID)
		}
	}
}

// takesAnother reports that a stage takes another amount than the plan before said.
func (a Amendment) takesAnother(s Stage) bool {
	i := slices.IndexFunc(a.before, func(was PlanStage) bool { return was.ID == s.ID })
	return i >= 0 && !a.before[i].Amount().equal(s.Amount)
}

// sameIDs reports that two lists hold the same, each once, in whatever order.
func sameIDs(a, b []id.ID) bool {
	return len(a) == len(b) && !slices.ContainsFunc(a, func(i id.ID) bool { return !slices.Contains(b, i) })
}

// Stages are those of the piece as they now are, in their order.
func (a Amendment) Stages() []Stage {
	return slices.SortedFunc(slices.Values(slices.Concat(a.Kept, a.Added)), func(x, y Stage) int { return int(x.Position - y.Position) })
}

// keeps refuses stages in which one that was begun, or is in an open batch, is missing, changed, or comes after
// another than before; what has not been begun cannot have come before it.
func (p FinishPlan) keeps(f Floor, stages []PlanStage) error {
	for _, old := range p.Stages {
		if !f.Begun[old.ID] {
			continue
		}
		why, unless := f.held(old.ID)
		i := slices.IndexFunc(stages, func(s PlanStage) bool { return s.Part == old.Part && s.Key == old.Key })
		if i < 0 {
			return fault.New(fault.Precondition, "STAGE_BEGUN", "%s %s, and the new version does not have it. Leave it in%s.", old.Title(), why, unless).At("stages").With("stage", old.Title())
		}
		if what := old.changed(stages[i]); what != "" {
			return fault.New(fault.Precondition, "STAGE_BEGUN", "%s %s, so it stays as it is%s; %s.", old.Title(), why, unless, what).
				At(fmt.Sprintf("stages[%d]", i)).With("stage", old.Title())
		}
	}
	return nil
}

// held says why a stage is held, and what lets go of it, if anything does.
func (f Floor) held(stage id.ID) (why, unless string) {
	if s, err := f.Stage(stage); err == nil && s.Batch != id.Nil {
		return "is in a batch", ", or dissolve the batch first"
	}
	return "was begun", ""
}

// changed says what somebody wrote otherwise of what a begun stage keeps; empty: nothing.
func (s PlanStage) changed(w PlanStage) string {
	switch {
	case s.Kind != w.Kind:
		return fmt.Sprintf("its kind is %s", s.Kind)
	case s.Product != w.Product:
		return "it was done with " + s.ProductName
	case s.Grit != w.Grit:
		return "its grit is " + s.Grit
	case s.Attended != w.Attended || s.Unattended != w.Unattended:
		return fmt.Sprintf("it takes %s and then %s by itself", hours(s.Attended), hours(s.Unattended))
	case s.Latest != w.Latest:
		return fmt.Sprintf("what comes next begins within %s, where 0 is for ever", hours(s.Latest))
	case s.Needs != w.Needs:
		return "leave alone what it needs of what lies below"
	case s.Skill != w.Skill || s.Station != w.Station:
		return "leave its skill and its station alone"
	case s.Why != w.Why:
		return "leave alone why it is there"
	}
	return s.moved(w)
}

// moved says what somebody wrote otherwise of what a begun stage came after; empty: nothing.
func (s PlanStage) moved(w PlanStage) string {
	for _, title := range w.After {
		if !slices.Contains(s.After, title) {
			return "it cannot come after " + title + " any more"
		}
	}
	for _, title := range s.After {
		if !slices.Contains(w.After, title) {
			return "it came after " + title
		}
	}
	return ""
}
