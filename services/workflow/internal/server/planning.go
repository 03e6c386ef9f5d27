package server

import (
	"context"
	"slices"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/store"
)

// GetFloorPlan implements PlanningService.
func (s *Server) GetFloorPlan(ctx context.Context, r *workflowv1.GetFloorPlanRequest) (*workflowv1.GetFloorPlanResponse, error) {
	person := id.Nil
	if r.Person != "" {
		var err error
		if person, err = id.One("person", r.Person, "people"); err != nil {
			return nil, err
		}
	}
	now, err := s.planned.of(ctx, s)
	if err != nil {
		return nil, err
	}
	if person == id.Nil {
		return &workflowv1.GetFloorPlanResponse{Plan: now.whole}, nil
	}
	if err := now.knows(person, "person"); err != nil {
		return nil, err
	}
	return &workflowv1.GetFloorPlanResponse{Plan: encodeFloorPlan(now.plan.Of(person))}, nil
}

// CheckWhatIf implements PlanningService.
func (s *Server) CheckWhatIf(ctx context.Context, r *workflowv1.CheckWhatIfRequest) (*workflowv1.CheckWhatIfResponse, error) {
	if len(r.Absences)+len(r.Promises)+len(r.Newcomers) == 0 {
		return nil, fault.New(fault.Invalid, "NOTHING_SUPPOSED", "Say what would be otherwise: who is away, what is promised, or what comes in.")
	}
	now, err := s.planned.of(ctx, s)
	if err != nil {
		return nil, err
	}
	supposed, err := s.readSupposed(ctx, r, now)
	if err != nil {
		return nil, err
	}
	facts, err := now.facts.Near(now.plan).Suppose(supposed)
	if err != nil {
		return nil, err
	}
	then, err := planning.Make(facts)
	if err != nil {
		return nil, err
	}
	return &workflowv1.CheckWhatIfResponse{Plan: encodeFloorPlan(then), Changes: encodeChanges(planning.Changes(now.plan, then))}, nil
}

// readSupposed reads what is supposed of a floor. Routes are read as they are now.
func (s *Server) readSupposed(ctx context.Context, r *workflowv1.CheckWhatIfRequest, of *plannedFloor) (out planning.Supposed, err error) {
	if out.Absences, err = readAbsences(r.Absences, of); err != nil {
		return out, err
	}
	if out.Promises, err = readPromises(r.Promises, of); err != nil || len(r.Newcomers) == 0 {
		return out, err
	}
	words := make([]string, len(r.Newcomers))
	out.Newcomers = make([]planning.Newcomer, len(r.Newcomers))
	for i, n := range r.Newcomers {
		if words[i], err = routeWord(within("newcomers", i, "route"), n.Route); err != nil {
			return out, err
		}
		if n.PromiseTime != nil {
			if out.Newcomers[i].Promised, err = toCome(within("newcomers", i, "promise_time"), n.PromiseTime, of.facts.Now); err != nil {
				return out, err
			}
		}
	}
	return out, s.DB.View(ctx, func(q pg.Querier) error {
		routes, err := store.New(q).Routes(ctx, slices.Compact(slices.Sorted(slices.Values(words))))
		for i, w := range words {
			out.Newcomers[i].Route = routes[w]
		}
		return err
	})
}
