package server

import (
	"context"
	"slices"
	"sync"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// plannedFloor is the floor of a moment, and its plan.
type plannedFloor struct {
	facts *planning.Facts
	plan  *planning.Plan
	whole *workflowv1.FloorPlan // nobody changes it
}

// knows refuses somebody who is not in the shop, given in a field. Fault: PERSON_NOT_FOUND.
func (p *plannedFloor) knows(person id.ID, field string) error {
	if slices.ContainsFunc(p.facts.People, func(o workflow.Person) bool { return o.ID == person }) {
		return nil
	}
	return fault.New(fault.NotFound, "PERSON_NOT_FOUND", "There is no such person; look the name up in the list of people.").At(field)
}

// has reports whether something is left to do on a piece.
func (p *plannedFloor) has(piece id.ID) bool {
	return slices.ContainsFunc(p.facts.Pieces, func(o planning.Piece) bool { return o.Piece.ID == piece })
}

// plans keeps the last plan, for as long as nothing happened on the floor and it is the same minute: many
// pages that are open at once are answered by one.
type plans struct {
	once sync.Once
	turn chan struct{} // one makes a plan, the others wait for it
	key  string
	last *plannedFloor
}

// of gives the plan of the floor as it is now.
func (p *plans) of(ctx context.Context, s *Server) (*plannedFloor, error) {
	p.once.Do(func() { p.turn = make(chan struct{}, 1) })
	select {
	case p.turn <- struct{}{}:
		defer func() { <-p.turn }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	// Asked before the floor is read: what happens in between is in the plan, and asked for again.
	at, err := s.Log.Present(ctx)
	if err != nil {
		return nil, err
	}
	now := s.Shop.Now().In(s.Shop.Zone)
	key := s.Log.Token(at) + now.Truncate(time.Minute).UTC().Format(time.RFC3339)
	if p.last != nil && p.key == key {
		return p.last, nil
	}
	made, err := s.makePlan(ctx, now)
	if err != nil {
		return nil, err
	}
	p.key, p.last = key, made
	return made, nil
}

func (s *Server) makePlan(ctx context.Context, now time.Time) (*plannedFloor, error) {
	var facts *planning.Facts
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		facts, err = store.New(q).PlanningFacts(ctx, now)
		return err
	})
	if err != nil {
		return nil, err
	}
	plan, err := planning.Make(facts)
	if err != nil {
		return nil, err
	}
	return &plannedFloor{facts, plan, encodeFloorPlan(plan)}, nil
}
