package server

import (
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// RefuseStage implements SwapService.
func (s *Server) RefuseStage(ctx context.Context, r *workflowv1.RefuseStageRequest) (*workflowv1.RefuseStageResponse, error) {
	piece, stage, err := stageName("stage", r.Stage)
	if err != nil {
		return nil, err
	}
	person, err := id.One("person", r.Person, "people")
	if err != nil {
		return nil, err
	}
	now := s.Shop.Now()
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.RefuseStageResponse, error) {
		st := store.New(tx)
		people, err := st.LockPeople(ctx, person)
		if err != nil {
			return nil, err
		}
		plan, err := st.LockPlan(ctx, piece)
		if err != nil {
			return nil, err
		}
		return &workflowv1.RefuseStageResponse{}, s.refuse(ctx, tx, &plan, stage, people[person], r.Reason)
	})
}

// refuse takes the stage from the person, and tells that they do not want it and who has it now.
func (s *Server) refuse(ctx context.Context, tx *pg.Tx, plan *workflow.Plan, stage id.ID, who workflow.Person, reason string) error {
	st, now := store.New(tx), s.Shop.Now().Truncate(time.Millisecond)
	pin, err := st.PinOf(ctx, stage)
	if err != nil {
		return err
	}
	refusal, of, err := plan.Refuse(stage, who, pin, reason)
	if err != nil {
		return err
	}
	if err := st.PutRefusal(ctx, refusal, caller.Of(ctx).Actor, now); err != nil {
		return err
	}
	if err := st.KeepByHand(ctx, stage); err != nil { // whoever has it beside them keeps it
		return err
	}
	if err := s.note(ctx, tx, plan.Piece, now, now, stageRefused(*of, refusal, who)); err != nil {
		return err
	}
	plan.Piece.Version++
	return s.save(ctx, tx, plan, change{event: stageAssigned(*of), stages: []*workflow.Stage{of}}, now, now)
}
