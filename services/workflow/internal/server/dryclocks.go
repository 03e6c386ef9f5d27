package server

import (
	"context"
	"slices"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/dry"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// ListDryClocks implements ClimateService.
func (s *Server) ListDryClocks(ctx context.Context, r *workflowv1.ListDryClocksRequest) (*workflowv1.ListDryClocksResponse, error) {
	word, err := optionalZone(r.Zone)
	if err != nil {
		return nil, err
	}
	var piece id.ID
	if r.Piece != "" {
		if piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
			return nil, err
		}
	}
	var clocks []workflow.DryClock
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		clocks, err = dryClocks(ctx, store.New(q), piece, word)
		return err
	})
	if err == nil {
		err = s.listedOf(ctx, len(clocks), id.Nil, piece)
	}
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListDryClocksResponse{}
	for _, c := range clocks {
		out.DryClocks = append(out.DryClocks, encodeDryClock(c, s.Shop.Now()))
	}
	return out, nil
}

// dryClocks reads the clocks of a piece, a zone or both, or all, the soonest ready first.
func dryClocks(ctx context.Context, st store.Store, piece id.ID, word string) (clocks []workflow.DryClock, err error) {
	zone, err := zoneOrNone(ctx, st, word)
	if err != nil {
		return nil, err
	}
	if piece == id.Nil {
		clocks, err = st.DryClocks(ctx, zone.ID)
	} else {
		clocks, err = st.DryClocksOf(ctx, piece)
		clocks = slices.DeleteFunc(clocks, func(c workflow.DryClock) bool { return word != "" && c.ZoneWord != word })
	}
	slices.SortStableFunc(clocks, workflow.Soonest)
	return clocks, err
}

// MoveDrying implements ClimateService.
func (s *Server) MoveDrying(ctx context.Context, r *workflowv1.MoveDryingRequest) (*workflowv1.MoveDryingResponse, error) {
	at, err := s.Shop.Instant("move_time", r.MoveTime)
	if err != nil {
		return nil, err
	}
	word, err := readZone("zone", r.Zone)
	if err != nil {
		return nil, err
	}
	return onDryClock(ctx, s, r, func(ctx context.Context, st store.Store, c *workflow.DryClock) error {
		zone, err := st.Zone(ctx, word)
		if err != nil {
			return err
		}
		if err := c.Move(zone, at.In(s.Shop.Zone)); err != nil {
			return err
		}
		airs, err := s.airs().Of(ctx, st, *c)
		if err != nil {
			return err
		}
		return c.Forecast(airs)
	}, func(c *workflowv1.DryClock) *workflowv1.MoveDryingResponse {
		return &workflowv1.MoveDryingResponse{DryClock: c}
	})
}

// onDryClock loads the clock of a stage under the lock of its piece, lets the command change
// it, and saves it with what is worth telling of it.
func onDryClock[R proto.Message](ctx context.Context, s *Server, r stageCommand, fn func(context.Context, store.Store, *workflow.DryClock) error, answer func(*workflowv1.DryClock) R) (none R, err error) {
	now := s.Shop.Now()
	piece, stage, err := stageName("stage", r.GetStage())
	if err != nil {
		return none, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (none R, err error) {
		st := store.New(tx)
		plan, c, err := lockDryClock(ctx, st, piece, stage)
		if err != nil {
			return none, err
		}
		if err := fn(ctx, st, c); err != nil {
			return none, err
		}
		if err := dry.Tell(ctx, tx, s.Log, &plan, now); err != nil {
			return none, err
		}
		tx.After(s.Wake)
		return answer(encodeDryClock(*c, now)), nil
	})
}

// lockDryClock locks a piece and finds the clock of a stage. Fault: DRY_CLOCK_NOT_FOUND.
func lockDryClock(ctx context.Context, st store.Store, piece, stage id.ID) (workflow.Plan, *workflow.DryClock, error) {
	plan, err := st.LockPlan(ctx, piece)
	if err != nil && !fault.Is(err, "STAGE_NOT_FOUND") {
		return plan, nil, err
	}
	i := slices.IndexFunc(plan.Clocks, func(c workflow.DryClock) bool { return c.Stage == stage })
	if i < 0 {
		return plan, nil, fault.New(fault.NotFound, "DRY_CLOCK_NOT_FOUND",
			"Nothing dries since that stage: it is not finished, or it left nothing wet. Look at the list of what dries.").At("stage")
	}
	return plan, &plan.Clocks[i], nil
}
