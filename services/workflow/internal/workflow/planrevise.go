package workflow

import (
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Floor is how far the work by a plan has come.
type Floor struct {
	Plan
	Begun map[id.ID]bool // finished, sent back, given to others, or anybody clocked on
}

// Edits are what somebody makes of a plan.
type Edits struct {
	Stages    []PlanStage    // in the place of the plan's; none: as they are
	Products  []PlanProduct  // of the plan and of these stages, as they are now
	Overrides []PlanOverride // in addition to those that the plan has
}

// Revise is what approving a draft makes of it, or amending an approved plan, and so what a
// check has to judge. What was begun is judged as it is kept. Who answers for a rule by the
// edits is not asked here; who answered before does so again. Faults: PIECE_SCRAPPED,
// PIECE_ALREADY_PLANNED of a draft, STAGE_BEGUN, those of Edit.
func (p FinishPlan) Revise(f Floor, e Edits, l *Labour) (PlanBody, error) {
	if err := p.open(f.Piece); err != nil {
		return PlanBody{}, err
	}
	stages := e.Stages
	if len(stages) == 0 {
		stages = p.Stages
	}
	if err := p.keeps(f, stages); err != nil {
		return PlanBody{}, err
	}
	body, err := p.Edit(stages, f.Begun, e.Products, l)
	if err != nil {
		return PlanBody{}, err
	}
	body.carry(p.PlanBody)
	return body, nil
}

// open refuses a plan of which nothing can be made any more.
func (p FinishPlan) open(piece Piece) error {
	switch {
	case p.State == PlanDraft:
		return piece.CheckPlan()
	case piece.Scrapped:
		return piece.scrapped()
	}
	return nil
}

// amendable refuses a plan that was never approved.
func (p FinishPlan) amendable() error {
	if p.State == PlanApproved {
		return nil
	}
	return fault.New(fault.Precondition, "PLAN_NOT_APPROVED", "The plan is still a draft; approve it, edited as you like.")
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
