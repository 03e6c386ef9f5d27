package server

import (
	"context"
	"time"

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
			return change{}, whoElse(ctx, st, plan, stage, "", at, err)
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

// whoElse says in the refusal of a person at a stage of a plan who could do it instead; see
// another.
func whoElse(ctx context.Context, st store.Store, plan *workflow.Plan, stage id.ID, station string, at time.Time, refusal error) error {
	if !workflow.AsksForAnother(refusal) {
		return refusal
	}
	of, err := plan.Stage(stage)
	if err != nil {
		return err
	}
	return another(ctx, st, []workflow.Stage{*of}, station, at, refusal)
}

// another says in the refusal of a person at stages that begin together who could do them
// instead, at the station of that word or at any that fits. Who there is is read only then:
// what is granted does not wait for it.
func another(ctx context.Context, st store.Store, stages []workflow.Stage, station string, at time.Time, refusal error) error {
	if !workflow.AsksForAnother(refusal) {
		return refusal
	}
	crew, err := st.Crew(ctx, stages, station)
	if err != nil {
		return err
	}
	return crew.Instead(refusal, stages, at)
}
