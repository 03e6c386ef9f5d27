package server

import (
	"context"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// SwitchClock implements ClockService.
func (s *Server) SwitchClock(ctx context.Context, r *workflowv1.SwitchClockRequest) (*workflowv1.SwitchClockResponse, error) {
	now := s.Shop.Now()
	b, err := s.decodeBegin(ctx, r, "switch_time", r.SwitchTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.SwitchClockResponse, error) {
		also, err := b.pieces(ctx, store.New(tx))
		if err != nil {
			return nil, err
		}
		ended, err := s.off(ctx, tx, end{person: b.person, at: b.at, also: also}, now)
		if err != nil {
			return nil, err
		}
		out := &workflowv1.SwitchClockResponse{Ended: encodeEntries(ended)}
		if r.Finish {
			if out.Finished, err = s.finishLeft(ctx, tx, ended, b.at, now); err != nil {
				return nil, switchTime(err)
			}
		}
		begun, err := s.begin(ctx, tx, b, now)
		out.Begun, out.Notices = begun.entries, begun.notices
		return out, err
	})
}

// finishLeft finishes the stage that somebody leaves, as FinishStage does.
func (s *Server) finishLeft(ctx context.Context, tx *pg.Tx, left []workflow.Entry, at, now time.Time) (*workflowv1.Stage, error) {
	st := store.New(tx)
	if left[0].Batch != id.Nil {
		b, err := st.Batch(ctx, left[0].Batch)
		if err != nil {
			return nil, err
		}
		left[0].BatchName = b.Name
	}
	piece, stage, err := workflow.Left(left)
	if err != nil {
		return nil, err
	}
	plan, err := st.LockPlan(ctx, piece)
	if err != nil {
		return nil, err
	}
	c, err := s.finish(ctx, st, &plan, stage, at, done{})
	if err != nil {
		return nil, err
	}
	if err := s.save(ctx, tx, &plan, c, at, now); err != nil {
		return nil, err
	}
	return encodeStage(&plan, *c.stages[0], now), nil
}

// switchTime says that what is wrong with when a stage was finished is wrong with when its
// worker went over.
func switchTime(err error) error {
	if f := fault.Of(err); f != nil && len(f.Fields) > 0 && f.Fields[0].Path == "finish_time" {
		return f.At("switch_time")
	}
	return err
}
