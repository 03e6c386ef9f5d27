package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// ClockOn implements ClockService. It is the command a shop gives most: one round trip
// to read under lock, one to write and commit.
func (s *Server) ClockOn(ctx context.Context, r *workflowv1.ClockOnRequest) (*workflowv1.ClockOnResponse, error) {
	now := s.Shop.Now()
	b, err := s.decodeBegin(ctx, r, "start_time", r.StartTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.ClockOnResponse, error) {
		begun, err := s.begin(ctx, tx, b, now)
		if err != nil {
			return nil, err
		}
		return &workflowv1.ClockOnResponse{ClockEntry: begun.entries[0], ClockEntries: begun.entries, Notices: begun.notices}, nil
	})
}

// ClockOff implements ClockService.
func (s *Server) ClockOff(ctx context.Context, r *workflowv1.ClockOffRequest) (*workflowv1.ClockOffResponse, error) {
	now := s.Shop.Now()
	person, at, err := s.decodeEnd(r.Person, "end_time", r.EndTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.ClockOffResponse, error) {
		ended, err := s.end(ctx, tx, end{person: person, at: at}, now)
		if err != nil {
			return nil, err
		}
		return &workflowv1.ClockOffResponse{ClockEntry: ended[0], ClockEntries: ended}, nil
	})
}

// PauseClock implements ClockService.
func (s *Server) PauseClock(ctx context.Context, r *workflowv1.PauseClockRequest) (*workflowv1.PauseClockResponse, error) {
	now := s.Shop.Now()
	person, at, err := s.decodeEnd(r.Person, "pause_time", r.PauseTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.PauseClockResponse, error) {
		ended, err := s.end(ctx, tx, end{person: person, at: at, pause: true}, now)
		return &workflowv1.PauseClockResponse{ClockEntries: ended}, err
	})
}

// ResumeClock implements ClockService.
func (s *Server) ResumeClock(ctx context.Context, r *workflowv1.ResumeClockRequest) (*workflowv1.ResumeClockResponse, error) {
	now := s.Shop.Now()
	person, at, err := s.decodeEnd(r.Person, "resume_time", r.ResumeTime)
	if err != nil {
		return nil, err
	}
	b := begin{person: person, at: at, actor: caller.Of(ctx).Actor, override: r.OverrideReason, read: r.AcknowledgedCautions}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.ResumeClockResponse, error) {
		last, err := s.paused(ctx, store.New(tx), person)
		if err != nil {
			return nil, err
		}
		b.target, b.station = targetOf(last), last.StationWord
		begun, err := s.begin(ctx, tx, b, now)
		return &workflowv1.ResumeClockResponse{ClockEntries: begun.entries, Notices: begun.notices}, err
	})
}

// paused reads what a person paused from. Fault: NOT_PAUSED.
func (s *Server) paused(ctx context.Context, st store.Store, person id.ID) (workflow.Entry, error) {
	p, _, err := st.LockHands(ctx, person, time.Time{}, time.Time{})
	if err != nil {
		return workflow.Entry{}, err
	}
	last, _, err := st.LastEntry(ctx, person)
	if err != nil {
		return last, err
	}
	s.local(&last)
	return last, last.Resume(p)
}

// decodeEnd reads who, and when.
func (s *Server) decodeEnd(name, field string, ts *timestamppb.Timestamp) (person id.ID, at time.Time, err error) {
	if at, err = s.Shop.Instant(field, ts); err != nil {
		return person, at, err
	}
	person, err = id.One("person", name, "people")
	return person, at.In(s.Shop.Zone), err
}
