package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/dry"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// stageCommand is a command on one stage.
type stageCommand interface {
	once.Command
	GetStage() string
}

// change is what a command does to a plan: what is told of it, the stages that it moved,
// and the clock of what it left wet, or nil.
type change struct {
	event  proto.Message
	stages []*workflow.Stage
	wet    *workflow.DryClock
}

// decide is the domain's part of a command on a stage.
type decide func(ctx context.Context, st store.Store, plan *workflow.Plan, stage id.ID, at time.Time) (change, error)

// onStage loads the stage's plan under lock, lets the command decide, and saves.
func onStage[R proto.Message](ctx context.Context, s *Server, r stageCommand, ts *timestamppb.Timestamp, field string, fn decide, answer func([]*workflowv1.Stage) R) (none R, err error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant(field, ts)
	if err != nil {
		return none, err
	}
	piece, stage, err := stageName("stage", r.GetStage())
	if err != nil {
		return none, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (none R, err error) {
		st := store.New(tx)
		plan, err := st.LockPlan(ctx, piece)
		if err != nil {
			return none, err
		}
		c, err := fn(ctx, st, &plan, stage, at)
		if err != nil {
			return none, err
		}
		if err := s.save(ctx, tx, &plan, c, at, now); err != nil {
			return none, err
		}
		var out []*workflowv1.Stage
		for _, changed := range c.stages {
			out = append(out, encodeStage(&plan, *changed, now))
		}
		return answer(out), nil
	})
}

// save writes what a command did, and its events. A stage that was finished leaves its batch.
func (s *Server) save(ctx context.Context, tx *pg.Tx, plan *workflow.Plan, c change, at, now time.Time) error {
	st := store.New(tx)
	for _, changed := range c.stages {
		left := changed.Leave()
		if err := st.UpdateStage(ctx, *changed); err != nil {
			return err
		}
		if left == id.Nil {
			continue
		}
		if err := s.leaveBatch(ctx, tx, left, changed.ID, at, now); err != nil {
			return err
		}
	}
	if err := st.EndDryClocks(ctx, plan.Gone()); err != nil {
		return err
	}
	if err := s.note(ctx, tx, plan.Piece, at, now, c.event); err != nil {
		return err
	}
	if err := s.renewDrying(ctx, tx, plan, now); err != nil {
		return err
	}
	if c.wet != nil {
		if err := s.beginDrying(ctx, tx, plan, c.wet, now); err != nil {
			return err
		}
	}
	return st.UpdatePiece(ctx, plan.Piece)
}

// renewDrying tells of clocks of which something else is waited for than before.
func (s *Server) renewDrying(ctx context.Context, tx *pg.Tx, plan *workflow.Plan, now time.Time) error {
	if plan.Renew(); len(plan.Unsaved()) == 0 {
		return nil
	}
	return dry.Tell(ctx, tx, s.Log, plan, now)
}
