package server

import (
	"context"
	"errors"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// claim is what somebody who claims is offered, and what of it they did not get.
type claim struct {
	*Server
	asked   *workflowv1.ClaimStageRequest
	person  id.ID
	station string // its word; empty: anywhere
	search  *workflow.Search
	tried   map[id.ID]bool
}

// ClaimStage implements StageService. What is offered is read without locks and tried from the
// best on, each in a transaction of its own that holds one piece: of many who claim at once each
// waits only for who is just claiming there, and goes on to the next if that was taken.
func (s *Server) ClaimStage(ctx context.Context, r *workflowv1.ClaimStageRequest) (*workflowv1.ClaimStageResponse, error) {
	c := claim{Server: s, asked: r, tried: map[id.ID]bool{}}
	var err error
	if c.person, err = id.One("person", r.Person, "people"); err != nil {
		return nil, err
	}
	if c.station, err = optionalStation(r.Station); err != nil {
		return nil, err
	}
	if r.Stage != "" {
		return c.named(ctx)
	}
	for {
		offers, err := c.look(ctx)
		if err != nil {
			return c.refuse(ctx, err)
		}
		for _, o := range offers {
			c.tried[o.Stage.ID] = true
			answer, err := c.take(ctx, o.Stage.Piece, o.Stage.ID)
			if err == nil || !goesOn(err) {
				return answer, err
			}
		}
	}
}

// named gives the person the stage that they want.
func (c *claim) named(ctx context.Context) (*workflowv1.ClaimStageResponse, error) {
	piece, stage, err := stageName("stage", c.asked.Stage)
	if err != nil {
		return nil, err
	}
	if err := c.read(ctx); err != nil {
		return c.refuse(ctx, err)
	}
	return c.take(ctx, piece, stage)
}

// look reads what there is and was not tried yet. Faults: PERSON_NOT_FOUND, STATION_NOT_FOUND,
// PERSON_INACTIVE, NOTHING_TO_CLAIM.
func (c *claim) look(ctx context.Context) (offers []workflow.Offer, err error) {
	if err := c.read(ctx); err != nil {
		return nil, err
	}
	if err := c.search.Here(); err != nil {
		return nil, err
	}
	all, obstacles := c.search.Next()
	for _, o := range all {
		if !c.tried[o.Stage.ID] {
			offers = append(offers, o)
		}
	}
	if len(offers) == 0 {
		return nil, workflow.NothingToClaim(c.search.Person, obstacles)
	}
	return offers, nil
}

func (c *claim) read(ctx context.Context) error {
	return c.DB.Snapshot(ctx, func(q pg.Querier) error {
		person, err := store.New(q).Person(ctx, c.person)
		if err != nil {
			return err
		}
		c.search, err = c.Server.search(ctx, q, person, c.station)
		return err
	})
}

// goesOn reports whether a refusal has to do with the stage that was tried, so that another one
// may do.
func goesOn(err error) bool {
	return errors.Is(err, fault.Precondition) && !fault.Is(err, "PERSON_INACTIVE") || fault.Is(err, "STAGE_NOT_FOUND")
}

// take gives the person a stage, if under lock they may still have it; what is theirs already
// stays so.
func (c *claim) take(ctx context.Context, piece, stage id.ID) (*workflowv1.ClaimStageResponse, error) {
	now := c.Shop.Now()
	return once.Do(ctx, c.DB, c.asked, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.ClaimStageResponse, error) {
		st := store.New(tx)
		people, err := st.LockPeople(ctx, c.person)
		if err != nil {
			return nil, err
		}
		c.search.Person = people[c.person]
		plan, err := st.LockPlan(ctx, piece)
		if err != nil {
			return nil, err
		}
		c.search.See(plan)
		o, err := c.search.Claim(piece, stage)
		if err != nil {
			return nil, whoElse(ctx, st, &plan, stage, c.station, c.search.Now, err)
		}
		if err := st.KeepByHand(ctx, stage); err != nil { // from now on no plan gives it to somebody else
			return nil, err
		}
		if !o.Theirs {
			given, err := o.Piece.Assign(stage, &c.search.Person, false, c.search.Now)
			if err != nil {
				return nil, err
			}
			o.Stage = *given
			if err := c.save(ctx, tx, &o.Piece.Plan, change{event: stageAssigned(*given), stages: []*workflow.Stage{given}}, now, now); err != nil {
				return nil, err
			}
		}
		return &workflowv1.ClaimStageResponse{NextStage: c.encodeOffer(c.search, o)}, nil
	})
}

// refuse refuses the claim, unless it was granted when it was asked before.
func (c *claim) refuse(ctx context.Context, why error) (*workflowv1.ClaimStageResponse, error) {
	return once.Do(ctx, c.DB, c.asked, c.Shop.Now(), func(context.Context, *pg.Tx) (*workflowv1.ClaimStageResponse, error) { return nil, why })
}
