package server

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// assignment is who gets a stage, as it is asked for.
type assignment struct {
	piece, stage id.ID
	to           id.ID // id.Nil: nobody
	beside       bool
	at           time.Time
}

// AssignStage implements StageService.
func (s *Server) AssignStage(ctx context.Context, r *workflowv1.AssignStageRequest) (*workflowv1.AssignStageResponse, error) {
	now := s.Shop.Now()
	a, err := s.decodeAssignment(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.AssignStageResponse, error) {
		return s.assign(ctx, tx, a, now)
	})
}

func (s *Server) decodeAssignment(r *workflowv1.AssignStageRequest) (a assignment, err error) {
	a.beside = r.Beside
	if a.at, err = s.Shop.Instant("assign_time", r.AssignTime); err != nil {
		return a, err
	}
	a.at = a.at.In(s.Shop.Zone)
	if a.piece, a.stage, err = stageName("stage", r.Stage); err != nil || r.Person == "" {
		return a, err
	}
	a.to, err = id.One("person", r.Person, "people")
	return a, err
}

// assign gives the stage to the person, who is locked before its piece: what they can do does not
// change meanwhile.
func (s *Server) assign(ctx context.Context, tx *pg.Tx, a assignment, now time.Time) (*workflowv1.AssignStageResponse, error) {
	st, out := store.New(tx), &workflowv1.AssignStageResponse{}
	var to *workflow.Person
	if a.to != id.Nil {
		people, err := st.LockPeople(ctx, a.to)
		if err != nil {
			return nil, err
		}
		p := people[a.to]
		to, out.Absence = &p, p.Absence(a.at)
	}
	plan, err := st.LockPlan(ctx, a.piece)
	if err != nil {
		return nil, err
	}
	assigned, err := plan.Assign(a.stage, to, a.beside, a.at)
	if err == nil && to != nil {
		err = mayUse(ctx, st, *to, *assigned, "")
	}
	if err != nil {
		return nil, whoElse(ctx, st, &plan, a.stage, "", a.at, err)
	}
	if err := st.KeepByHand(ctx, a.stage); err != nil {
		return nil, err
	}
	err = s.save(ctx, tx, &plan, change{event: stageAssigned(*assigned), stages: []*workflow.Stage{assigned}}, a.at, now)
	out.Stage = encodeStage(&plan, *assigned, now)
	return out, err
}

// mayUse refuses a person who may use no station at which a stage is done, or not the one of that
// word. How the stations are is read only where that can be. Fault: STATION_NOT_ALLOWED.
func mayUse(ctx context.Context, st store.Store, p workflow.Person, stage workflow.Stage, station string) error {
	if len(p.Stations) == 0 || stage.Station == "" && station == "" {
		return nil
	}
	crew, err := st.Crew(ctx, []workflow.Stage{stage}, station)
	if err != nil {
		return err
	}
	return crew.Lets(p, stage)
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
