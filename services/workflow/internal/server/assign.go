package server

import (
	"context"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// AssignStage implements StageService.
func (s *Server) AssignStage(ctx context.Context, r *workflowv1.AssignStageRequest) (*workflowv1.AssignStageResponse, error) {
	return onStage(ctx, s, r, r.AssignTime, "assign_time", func(ctx context.Context, st store.Store, plan *workflow.Plan, stage id.ID, at time.Time) (change, error) {
		to, err := readPerson(ctx, st, r.Person)
		if err != nil {
			return change{}, err
		}
		at = at.In(s.Shop.Zone)
		assigned, err := plan.Assign(stage, to, r.Beside, at)
		if err != nil {
			return change{}, whoElse(ctx, st, plan, stage, at, err)
		}
		return change{event: stageAssigned(*assigned), stages: []*workflow.Stage{assigned}}, nil
	}, func(stages []*workflowv1.Stage) *workflowv1.AssignStageResponse {
		return &workflowv1.AssignStageResponse{Stage: stages[0]}
	})
}

// readPerson reads a named person; no name is nobody.
func readPerson(ctx context.Context, st store.Store, name string) (*workflow.Person, error) {
	if name == "" {
		return nil, nil
	}
	person, err := id.One("person", name, "people")
	if err != nil {
		return nil, err
	}
	p, err := st.Person(ctx, person)
	return &p, err
}

// ableNamed is how many people a refusal names who could do it.
const ableNamed = 3

// whoElse says in the refusal of a person at a stage who could do it instead.
func whoElse(ctx context.Context, st store.Store, plan *workflow.Plan, stage id.ID, at time.Time, refusal error) error {
	if !fault.Is(refusal, "SKILL_MISSING") && !fault.Is(refusal, "PERSON_INACTIVE") {
		return refusal
	}
	of, err := plan.Stage(stage)
	if err != nil {
		return err
	}
	able, err := st.Able(ctx, *of, at, ableNamed)
	if err != nil {
		return err
	}
	return workflow.InsteadOf(refusal, able)
}
