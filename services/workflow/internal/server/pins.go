package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// pinning is a pin as it is asked for.
type pinning struct {
	piece, stage id.ID
	to           id.ID     // id.Nil: whoever can
	at           time.Time // in the shop's zone; zero: as soon as it can
}

// PinStage implements PlanningService.
func (s *Server) PinStage(ctx context.Context, r *workflowv1.PinStageRequest) (*workflowv1.PinStageResponse, error) {
	now := s.Shop.Now()
	a, err := s.decodePinning(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.PinStageResponse, error) {
		return &workflowv1.PinStageResponse{}, s.pin(ctx, tx, a, now)
	})
}

func (s *Server) decodePinning(r *workflowv1.PinStageRequest) (a pinning, err error) {
	if a.at, err = openInstant("start_time", r.StartTime); err != nil {
		return a, err
	}
	if !a.at.IsZero() {
		a.at = a.at.Truncate(time.Millisecond).In(s.Shop.Zone)
	}
	if a.piece, a.stage, err = stageName("stage", r.Stage); err != nil || r.Person == "" {
		return a, err
	}
	a.to, err = id.One("person", r.Person, "people")
	return a, err
}

// pin pins the stage, to a person who is locked before its piece: what they can do does not change meanwhile.
func (s *Server) pin(ctx context.Context, tx *pg.Tx, a pinning, now time.Time) error {
	st := store.New(tx)
	var to *workflow.Person
	if a.to != id.Nil {
		people, err := st.LockPeople(ctx, a.to)
		if err != nil {
			return err
		}
		p := people[a.to]
		to = &p
	}
	plan, err := st.LockPlan(ctx, a.piece)
	if err != nil {
		return err
	}
	pin, stage, err := plan.Pin(a.stage, to, a.at, now.In(s.Shop.Zone))
	if err == nil && to != nil {
		err = mayUse(ctx, st, *to, *stage, "")
	}
	if err != nil {
		return whoElse(ctx, st, &plan, a.stage, "", now.In(s.Shop.Zone), err)
	}
	if err := st.PutPin(ctx, pin, caller.Of(ctx).Actor, now); err != nil {
		return err
	}
	return s.noteOfPlan(ctx, tx, plan.Piece, now, stagePinned(*stage, pin, to))
}

// noteOfPlan keeps the version of a piece of which only its place in the plan changed, and says so.
func (s *Server) noteOfPlan(ctx context.Context, tx *pg.Tx, piece workflow.Piece, now time.Time, event proto.Message) error {
	if err := s.note(ctx, tx, piece, now, now, event); err != nil {
		return err
	}
	return store.New(tx).UpdatePiece(ctx, piece)
}

func stagePinned(stage workflow.Stage, pin workflow.PlanPin, to *workflow.Person) *eventsv1.StagePinned {
	e := &eventsv1.StagePinned{StageId: stage.ID.String(), Kind: stage.Kind, StartTime: wire.ToInstant(pin.At)}
	if to != nil {
		e.PersonId, e.PersonName = to.ID.String(), to.Name
	}
	return e
}

// UnpinStage implements PlanningService.
func (s *Server) UnpinStage(ctx context.Context, r *workflowv1.UnpinStageRequest) (*workflowv1.UnpinStageResponse, error) {
	now := s.Shop.Now()
	piece, stage, err := stageName("stage", r.Stage)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.UnpinStageResponse, error) {
		return &workflowv1.UnpinStageResponse{}, s.unpin(ctx, tx, piece, stage, now)
	})
}

func (s *Server) unpin(ctx context.Context, tx *pg.Tx, piece, stage id.ID, now time.Time) error {
	st := store.New(tx)
	plan, err := st.LockPlan(ctx, piece)
	if err != nil {
		return err
	}
	pin, err := st.PinOf(ctx, stage)
	if err != nil {
		return err
	}
	of, err := plan.Unpin(stage, pin)
	if err != nil {
		return err
	}
	if err := st.DeletePin(ctx, stage); err != nil {
		return err
	}
	return s.noteOfPlan(ctx, tx, plan.Piece, now, &eventsv1.StageUnpinned{StageId: stage.String(), Kind: of.Kind})
}
