package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/dry"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// ObserveDrying implements ClimateService.
func (s *Server) ObserveDrying(ctx context.Context, r *workflowv1.ObserveDryingRequest) (*workflowv1.ObserveDryingResponse, error) {
	now := s.Shop.Now()
	piece, stage, err := stageName("stage", r.Stage)
	if err != nil {
		return nil, err
	}
	outcome, err := s.decodeOutcome(r)
	if err != nil {
		return nil, err
	}
	outcomeID := id.New()
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.ObserveDryingResponse, error) {
		st := store.New(tx)
		plan, c, err := s.lockOutcome(ctx, st, piece, stage)
		if err != nil {
			return nil, err
		}
		airs, err := s.airs().Of(ctx, st, *c)
		if err != nil {
			return nil, err
		}
		stands, err := c.Observe(outcome, airs)
		if err != nil {
			return nil, err
		}
		if err := st.SaveOutcome(ctx, outcomeID, *c, outcome, stands, caller.Of(ctx).Actor); err != nil {
			return nil, err
		}
		learned, err := learnFactor(ctx, st, c)
		if err != nil {
			return nil, err
		}
		if err := c.Forecast(airs); err != nil {
			return nil, err
		}
		plan.Piece.Version++
		if err := s.note(ctx, tx, plan.Piece, outcomeTime(outcome), now, dryingObserved(*c, outcome, learned)); err != nil {
			return nil, err
		}
		if err := dry.Tell(ctx, tx, s.Log, &plan, now); err != nil {
			return nil, err
		}
		tx.After(s.Wake) // for what else is wet of the product
		return observed(*c, learned, now), st.UpdatePiece(ctx, plan.Piece)
	})
}

// lockOutcome locks what is known of the product, then the piece, and finds the clock.
func (s *Server) lockOutcome(ctx context.Context, st store.Store, piece, stage id.ID) (workflow.Plan, *workflow.DryClock, error) {
	found, err := st.Stage(ctx, piece, stage)
	if err == nil && found.Product != id.Nil {
		err = st.LockFactor(ctx, found.Product)
	}
	if err != nil && !fault.Is(err, "STAGE_NOT_FOUND") {
		return workflow.Plan{}, nil, err
	}
	return lockDryClock(ctx, st, piece, stage)
}

var milestones = map[workflowv1.ObserveDryingRequest_Milestone]drying.Milestone{
	workflowv1.ObserveDryingRequest_MILESTONE_SET_TO_TOUCH: drying.SetToTouch, workflowv1.ObserveDryingRequest_MILESTONE_TACK_FREE: drying.TackFree,
	workflowv1.ObserveDryingRequest_MILESTONE_SAND: drying.DryToSand, workflowv1.ObserveDryingRequest_MILESTONE_RECOAT: drying.DryToRecoat,
	workflowv1.ObserveDryingRequest_MILESTONE_CURED: drying.Cured,
}

func (s *Server) decodeOutcome(r *workflowv1.ObserveDryingRequest) (o drying.Outcome, err error) {
	o.Milestone = milestones[r.Milestone]
	if o.NotYet, err = s.givenInstant("not_yet_time", r.NotYetTime); err != nil {
		return o, err
	}
	o.Reached, err = s.givenInstant("reached_time", r.ReachedTime)
	return o, err
}

// givenInstant reads an instant that is none when it is absent.
func (s *Server) givenInstant(field string, ts *timestamppb.Timestamp) (time.Time, error) {
	if ts == nil {
		return time.Time{}, nil
	}
	return s.Shop.Instant(field, ts)
}

// outcomeTime is when somebody felt the film last.
func outcomeTime(o drying.Outcome) time.Time {
	if o.Reached.IsZero() {
		return o.NotYet
	}
	return o.Reached
}

// learnFactor computes what is known of the clock's product anew, from all that was felt of it.
// What can hardly be by that stays out of it, and counts for the clock all the same. It
// reports whether anything was learned.
func learnFactor(ctx context.Context, st store.Store, c *workflow.DryClock) (learned bool, err error) {
	coats, err := st.Outcomes(ctx, c.Product)
	if err != nil {
		return false, err
	}
	before := c.Dries.Factor
	c.Dries.Factor = drying.Learn(coats)
	c.Lessons, err = st.SaveFactor(ctx, c.Product, c.Dries.Factor)
	f := c.Dries.Factor // whose spread is that of the usual belief, said or not, before anything was learned
	return f.LogMean != before.LogMean || f.Outcomes != before.Outcomes, err
}

func observed(c workflow.DryClock, learned bool, now time.Time) *workflowv1.ObserveDryingResponse {
	f := c.Dries.Factor
	low, high := workflow.FactorRange(f)
	return &workflowv1.ObserveDryingResponse{DryClock: encodeDryClock(c, now), Factor: f.Usual(), FactorLow: low, FactorHigh: high, Outcomes: int32(f.Outcomes),
		Learned: learned}
}

func dryingObserved(c workflow.DryClock, o drying.Outcome, learned bool) *eventsv1.DryingObserved {
	e := &eventsv1.DryingObserved{StageId: c.Stage.String(), ProductId: c.Product.String(), Milestone: o.Milestone.String(),
		NotYet: wire.ToInstant(o.NotYet), Reached: wire.ToInstant(o.Reached), Learned: learned}
	if c.Part != id.Nil {
		e.PartId = c.Part.String()
	}
	return e
}
