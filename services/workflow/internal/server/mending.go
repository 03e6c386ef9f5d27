package server

import (
	"context"
	"fmt"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// mends is a mending as it is asked for, and what materials says of its products and of those on the piece.
type mends struct {
	comeback id.ID
	stages   []workflow.Mending // none: as usual
	edits
}

// PlanComeback implements ComebackService.
func (s *Server) PlanComeback(ctx context.Context, r *workflowv1.PlanComebackRequest) (*workflowv1.PlanComebackResponse, error) {
	now := s.Shop.Now()
	m, err := s.decodeMends(ctx, r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.PlanComebackResponse, error) {
		b, err := s.lockComeback(ctx, tx, m.comeback)
		if err != nil {
			return nil, err
		}
		if err := b.MayMend(); err != nil {
			return nil, err
		}
		if m.askErr != nil {
			return nil, m.askErr
		}
		mended, given, err := m.mend(ctx, &b, now)
		if err != nil {
			return nil, err
		}
		return s.keepMended(ctx, tx, &b, mended, given, now)
	})
}

func (s *Server) decodeMends(ctx context.Context, r *workflowv1.PlanComebackRequest) (m mends, err error) {
	if m.comeback, err = id.One("comeback", r.Comeback, "comebacks"); err != nil {
		return m, err
	}
	var named []askedFor
	for i, w := range r.Stages {
		st := workflow.Mending{Part: w.PartLabel, Kind: finish.Kind(w.Kind), Grit: w.Grit, Skill: w.Skill, Station: w.Station, Attended: minutes(w.AttendedMinutes), Unattended: minutes(w.UnattendedMinutes)}
		if w.Product != "" {
			field := fmt.Sprintf("stages[%d].product", i)
			if st.Product, err = id.One(field, w.Product, "products"); err != nil {
				return m, err
			}
			named = append(named, askedFor{field, st.Product})
		}
		m.stages = append(m.stages, st)
	}
	if m.Overrides, err = decodeOverrides(r.Overrides); err != nil {
		return m, err
	}
	m.Products, m.askErr = s.productsThere(ctx, m.comeback, named)
	return m, nil
}

// productsThere asks materials for the products that lie on the piece of a come-back, of which one may be gone, and
// for those that are named.
func (s *Server) productsThere(ctx context.Context, comeback id.ID, named []askedFor) ([]workflow.PlanProduct, error) {
	var asked []askedFor
	err := s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		piece, err := st.PieceOfComeback(ctx, comeback)
		if err != nil {
			return err
		}
		plan, err := st.Plan(ctx, piece)
		for _, stage := range plan.Stages {
			if stage.Product != id.Nil {
				asked = append(asked, askedFor{product: stage.Product})
			}
		}
		return err
	})
	if fault.Is(err, "COMEBACK_NOT_FOUND") { // which is said in the transaction
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return s.products(ctx, append(named, asked...))
}

// mend decides on the stages; it returns the overrides given for them, with names.
func (m mends) mend(ctx context.Context, b *returning, now time.Time) (mended workflow.Mended, given []workflow.PlanOverride, err error) {
	stages := m.stages
	if len(stages) == 0 {
		if stages, err = b.plan.UsualMending(b.Comeback); err != nil {
			return mended, nil, err
		}
	}
	if given, err = m.named(ctx, b.st); err != nil {
		return mended, nil, err
	}
	labour, err := b.st.Labour(ctx)
	if err != nil {
		return mended, nil, err
	}
	plan, kept, err := keptPlan(ctx, b.st, b.Piece)
	if err == nil && !kept {
		plan, err = standingPlan(ctx, b.st, b.plan)
	}
	if err != nil {
		return mended, nil, err
	}
	m.Overrides = given
	mended, err = plan.Mend(workflow.HeldFloor(b.plan), stages, m.Edits, labour, now)
	return mended, given, err
}

// keptPlan reads the approved finish plan of a piece; kept: it has one.
func keptPlan(ctx context.Context, st store.Store, piece id.ID) (plan workflow.FinishPlan, kept bool, err error) {
	plan, err = newestPlan(ctx, st, piece)
	if fault.Is(err, "PLAN_NOT_FOUND") {
		return plan, false, nil
	}
	return plan, err == nil && plan.State == workflow.PlanApproved, err
}

// standingPlan is what was done on a piece without a finish plan, with what tests say of lead.
func standingPlan(ctx context.Context, st store.Store, plan workflow.Plan) (out workflow.FinishPlan, err error) {
	parts, err := st.Parts(ctx, plan.Piece.ID)
	if err != nil {
		return out, err
	}
	out = workflow.StandingPlan(plan, parts)
	ground, err := st.Ground(ctx, plan.Piece.ID)
	out.PlanBody = out.Tested(ground)
	return out, err
}

// keepMended writes the stages that mend, and tells of them.
func (s *Server) keepMended(ctx context.Context, tx *pg.Tx, b *returning, mended workflow.Mended, given []workflow.PlanOverride, now time.Time) (*workflowv1.PlanComebackResponse, error) {
	mended.Approve(workflow.HeldFloor(b.plan), b.Comeback, caller.Of(ctx).Actor, now.UTC().Truncate(time.Millisecond), id.New)
	if err := b.st.Amend(ctx, mended.Amendment); err != nil {
		return nil, err
	}
	if err := b.st.InsertComebackStages(ctx, b.ID, mended.Added); err != nil {
		return nil, err
	}
	if mended.Plan.Version > 0 {
		if err := b.st.Supersede(ctx, mended.Plan); err != nil {
			return nil, err
		}
	}
	b.plan.Piece.Planned = true
	b.plan.Piece.Version++
	b.plan.Stages = mended.Stages()
	if err := s.note(ctx, tx, b.plan.Piece, now, now, comebackPlanned(b.Comeback, mended, given)); err != nil {
		return nil, err
	}
	if err := s.renewDrying(ctx, tx, &b.plan, now); err != nil {
		return nil, err
	}
	out := &workflowv1.PlanComebackResponse{Findings: encodeFindings(mended.Findings)}
	for _, stage := range mended.Added {
		b.Stages = append(b.Stages, stage.ID)
		out.Stages = append(out.Stages, encodeStage(&b.plan, stage, now))
	}
	out.Comeback = encodeComeback(b.Comeback)
	return out, b.st.UpdatePiece(ctx, b.plan.Piece)
}

// ListUsualMendings implements ComebackService.
func (s *Server) ListUsualMendings(context.Context, *workflowv1.ListUsualMendingsRequest) (*workflowv1.ListUsualMendingsResponse, error) {
	out := &workflowv1.ListUsualMendingsResponse{}
	for _, d := range workflow.DefectKinds {
		kinds := workflow.UsualMendings[d.Word]
		if len(kinds) == 0 {
			continue
		}
		m := &workflowv1.ListUsualMendingsResponse_UsualMending{Fault: d.Word, Source: workflow.CommonPractice}
		for _, k := range kinds {
			m.StageKinds = append(m.StageKinds, string(k))
		}
		out.Mendings = append(out.Mendings, m)
	}
	return out, nil
}
