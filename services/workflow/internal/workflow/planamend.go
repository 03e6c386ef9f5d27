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
	Added   []Stage
	Dropped []id.ID
}

// Floor is how far the work by a plan has come.
type Floor struct {
	Plan
	Begun map[id.ID]bool // finished, sent back, or anybody clocked on
}

// Amend makes the next version of the plan, of stages that somebody wrote. What was begun
// stays as it is; what was not is made as it now is written, and is the same stage if it
// has the same part, key, kind and product. Faults: PIECE_SCRAPPED, PLAN_NOT_APPROVED,
// STAGE_BEGUN, those of Edit, OVERRIDE_UNKNOWN, RULE_BROKEN.
func (p FinishPlan) Amend(f Floor, stages []PlanStage, products []PlanProduct, l *Labour, overrides []PlanOverride) (Amendment, error) {
	switch {
	case f.Piece.Scrapped:
		return Amendment{}, f.Piece.scrapped()
	case p.State != PlanApproved:
		return Amendment{}, fault.New(fault.Precondition, "PLAN_NOT_APPROVED", "The plan is still a draft; approve it, edited as you like.")
	}
	if err := p.keeps(f, stages); err != nil {
		return Amendment{}, err
	}
	body, err := p.Edit(stages, products, l)
	if err != nil {
		return Amendment{}, err
	}
	body.recognise(p.Stages, f.Begun)
	body.carry(p.PlanBody)
	if err := body.Answer(overrides); err != nil {
		return Amendment{}, err
	}
	next := p
	next.Version, next.PlanBody = p.Version+1, body
	return Amendment{Plan: next}, body.broken()
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
			old.Position = s.Position
			s = old
		default:
			s.Assignee, s.AssignedTo = old.Assignee, old.AssignedTo
		}
		a.Kept = append(a.Kept, s)
		delete(there, s.ID)
	}
	for _, s := range f.Stages {
		if _, left := there[s.ID]; left {
			a.Dropped = append(a.Dropped, s.ID)
		}
	}
}

// Stages are those of the piece as they now are, in their order.
func (a Amendment) Stages() []Stage {
	return slices.SortedFunc(slices.Values(slices.Concat(a.Kept, a.Added)), func(x, y Stage) int { return int(x.Position - y.Position) })
}

// keeps refuses stages in which one that was begun is missing, changed, or comes after
// another than before; what has not been begun cannot have come before it.
func (p FinishPlan) keeps(f Floor, stages []PlanStage) error {
	for _, old := range p.Stages {
		if !f.Begun[old.ID] {
			continue
		}
		i := slices.IndexFunc(stages, func(s PlanStage) bool { return s.Part == old.Part && s.Key == old.Key })
		if i < 0 {
			return fault.New(fault.Precondition, "STAGE_BEGUN", "%s was begun, and the new version does not have it. Leave it in.", old.Title()).At("stages").With("stage", old.Title())
		}
		if what := old.changed(stages[i]); what != "" {
			return fault.New(fault.Precondition, "STAGE_BEGUN", "%s was begun, so it stays as it is; %s.", old.Title(), what).
				At(fmt.Sprintf("stages[%d]", i)).With("stage", old.Title())
		}
	}
	return nil
}

// changed says what somebody wrote otherwise; empty: nothing.
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
	case s.Skill != w.Skill || s.Station != w.Station:
		return "leave its skill and its station alone"
	}
	for _, title := range w.After {
		if !slices.Contains(s.After, title) {
			return "it cannot come after " + title + " any more"
		}
	}
	if len(w.After) < len(s.After) {
		return "leave alone what it came after"
	}
	return ""
}

// recognise gives the stages that were there before their ids.
func (b *PlanBody) recognise(before []PlanStage, begun map[id.ID]bool) {
	for i, s := range b.Stages {
		b.Stages[i].ID = id.Nil
		for _, old := range before {
			if old.Part != s.Part || old.Key != s.Key {
				continue
			}
			switch {
			case begun[old.ID]:
				b.Stages[i] = old
			case old.Kind == s.Kind && old.Product == s.Product:
				b.Stages[i].ID = old.ID
			}
		}
	}
}

// carry lets those answer who answered in the version before, where the same stage breaks
// the same rule.
func (b *PlanBody) carry(before PlanBody) {
	same := map[string]bool{}
	for _, s := range b.Stages {
		same[s.Title()] = s.ID != id.Nil
	}
	for i, f := range b.Findings {
		for _, old := range before.Findings {
			if old.Override != nil && old.Stage == f.Stage && old.Rule.ID == f.Rule.ID && same[f.Stage] {
				b.Findings[i].Override = old.Override
			}
		}
	}
}
