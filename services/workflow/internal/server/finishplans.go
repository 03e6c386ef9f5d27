package server

import (
	"context"
	"strconv"
	"strings"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// DraftFinishPlan implements FinishService. A draft is a note that nobody else builds on,
// so there is no event of it.
func (s *Server) DraftFinishPlan(ctx context.Context, r *workflowv1.DraftFinishPlanRequest) (*workflowv1.DraftFinishPlanResponse, error) {
	now := s.Shop.Now()
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	zone, err := optionalZone(r.Zone)
	if err != nil {
		return nil, err
	}
	// Asked before the transaction, judged inside, as PlanStages does.
	wished, askErr := s.wishes(ctx, r)
	wished.body.ZoneWord = zone
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.DraftFinishPlanResponse, error) {
		if askErr != nil {
			return nil, askErr
		}
		st := store.New(tx)
		piece, err := st.LockNewPiece(ctx, pieceID, wished.piece.Tag, wished.piece.TakenInTime.AsTime())
		if err != nil {
			return nil, err
		}
		if err := piece.CheckPlan(); err != nil {
			return nil, err
		}
		plan := workflow.FinishPlan{Piece: piece.ID, State: workflow.PlanDraft, Actor: caller.Of(ctx).Actor, DraftedAt: now.UTC().Truncate(time.Millisecond)}
		if plan.PlanBody, err = draft(ctx, st, piece.ID, wished.body); err != nil {
			return nil, err
		}
		if err := st.SaveDraft(ctx, &plan); err != nil {
			return nil, err
		}
		return &workflowv1.DraftFinishPlanResponse{Plan: encodeFinishPlan(plan, nil), FromAssessments: wished.taken}, nil
	})
}

// draft makes the stages of what is wanted, by the shop's zones, its labour, and the tests
// for lead. Fault: ZONE_NOT_FOUND, and those of Draft.
func draft(ctx context.Context, st store.Store, piece id.ID, wanted workflow.PlanBody) (body workflow.PlanBody, err error) {
	if wanted.ZoneWord != "" {
		zone, err := st.Zone(ctx, wanted.ZoneWord)
		if err != nil {
			return body, err
		}
		wanted.Zone = zone.ID
	}
	labour, err := st.Labour(ctx)
	if err != nil {
		return body, err
	}
	ground, err := st.Ground(ctx, piece)
	if err != nil {
		return body, err
	}
	return wanted.Tested(ground).Draft(labour)
}

// CheckFinishPlan implements FinishService.
func (s *Server) CheckFinishPlan(ctx context.Context, r *workflowv1.CheckFinishPlanRequest) (*workflowv1.CheckFinishPlanResponse, error) {
	e, err := s.readEdits(ctx, r.Piece, r.Stages, r.Overrides)
	if err != nil {
		return nil, err
	}
	var body workflow.PlanBody
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		f, plan, err := seeFloor(ctx, st, st.Plan, e.piece)
		if err != nil {
			return err
		}
		if body, err = e.revise(ctx, st, plan, f); err != nil {
			return err
		}
		answers, err := e.known(ctx, st)
		body.Answered(answers)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &workflowv1.CheckFinishPlanResponse{Findings: encodeFindings(body.Findings), Needs: encodeNeeds(body.Needs), CanBeApproved: body.Approvable()}, nil
}

// seeFloor reads a piece's newest plan and how far the work by it has come; read is how its
// stages are read, under lock or not. Fault: PLAN_NOT_FOUND.
func seeFloor(ctx context.Context, st store.Store, read func(context.Context, id.ID) (workflow.Plan, error), piece id.ID) (f workflow.Floor, plan workflow.FinishPlan, err error) {
	if f.Plan, err = read(ctx, piece); err != nil {
		return f, plan, planOf(err)
	}
	if plan, err = newestPlan(ctx, st, piece); err != nil {
		return f, plan, err
	}
	f.Begun, err = st.Begun(ctx, piece)
	return f, plan, err
}

// newestPlan is the newest version, with what the last tests for lead say of its parts.
func newestPlan(ctx context.Context, st store.Store, piece id.ID) (workflow.FinishPlan, error) {
	plan, err := st.NewestFinishPlan(ctx, piece)
	if err != nil {
		return plan, err
	}
	ground, err := st.Ground(ctx, piece)
	plan.PlanBody = plan.Tested(ground)
	return plan, err
}

// GetFinishPlan implements FinishService.
func (s *Server) GetFinishPlan(ctx context.Context, r *workflowv1.GetFinishPlanRequest) (*workflowv1.GetFinishPlanResponse, error) {
	piece, version, err := finishPlanName(r.Name)
	if err != nil {
		return nil, err
	}
	var plan workflow.FinishPlan
	var begun map[id.ID]bool
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if version == 0 {
			plan, err = st.NewestFinishPlan(ctx, piece)
		} else {
			plan, err = st.FinishPlan(ctx, piece, version)
		}
		if err != nil {
			return err
		}
		begun, err = st.Begun(ctx, piece)
		return err
	})
	if err != nil {
		return nil, atName(err)
	}
	return &workflowv1.GetFinishPlanResponse{Plan: encodeFinishPlan(plan, begun)}, nil
}

// finishPlanName reads pieces/{piece}/finishPlans/{version}, or pieces/{piece} as version 0,
// the newest.
func finishPlanName(name string) (piece id.ID, version int32, err error) {
	head, tail, named := strings.Cut(name, "/finishPlans/")
	if named {
		n, err := strconv.ParseInt(tail, 10, 32)
		if err != nil || n < 1 || tail != strconv.FormatInt(n, 10) {
			return id.Nil, 0, fault.New(fault.Invalid, "INVALID_NAME", "name is not a finish plan's, such as pieces/{piece}/finishPlans/2.").At("name")
		}
		version = int32(n)
	}
	piece, err = id.One("name", head, "pieces")
	return piece, version, err
}
