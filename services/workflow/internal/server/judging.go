package server

import (
	"context"
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

// JudgeComeback implements ComebackService.
func (s *Server) JudgeComeback(ctx context.Context, r *workflowv1.JudgeComebackRequest) (*workflowv1.JudgeComebackResponse, error) {
	now := s.Shop.Now()
	comeback, err := id.One("comeback", r.Comeback, "comebacks")
	if err != nil {
		return nil, err
	}
	j, stageOf, err := decodeJudgement(r.Judgement)
	if err != nil {
		return nil, err
	}
	j.Actor, j.At = caller.Of(ctx).Actor, now.UTC().Truncate(time.Millisecond)
	var askErr error // judged in the transaction
	if j.Product != id.Nil {
		j.ProductName, askErr = s.productCalled(ctx, j.Product)
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.JudgeComebackResponse, error) {
		b, err := s.lockComeback(ctx, tx, comeback)
		if err != nil {
			return nil, err
		}
		if j.Stage != id.Nil && stageOf != b.Piece {
			return nil, fault.New(fault.NotFound, "STAGE_NOT_FOUND", "That is a stage of another piece. Name one of this piece's own.").At("judgement.stage")
		}
		if askErr != nil {
			return nil, askErr
		}
		judged, err := s.judge(ctx, b.st, &b.plan, b.Comeback, j)
		if err != nil {
			return nil, err
		}
		return &workflowv1.JudgeComebackResponse{Comeback: encodeComeback(judged)}, s.noteOfPlan(ctx, tx, b.plan.Piece, now, comebackJudged(judged))
	})
}

// judge decides and writes it.
func (s *Server) judge(ctx context.Context, st store.Store, plan *workflow.Plan, c workflow.Comeback, j workflow.Judgement) (workflow.Comeback, error) {
	if j.Person != id.Nil {
		person, err := st.Person(ctx, j.Person)
		if err != nil {
			return c, fault.Of(err).At("judgement.person")
		}
		j.PersonName = person.Name
	}
	c, err := plan.Judge(c, j)
	if err != nil {
		return c, err
	}
	return c, st.UpdateComeback(ctx, c)
}

// productCalled asks materials what a product is called. Fault: PRODUCT_NOT_FOUND, at the judgement.
func (s *Server) productCalled(ctx context.Context, product id.ID) (string, error) {
	products, err := s.products(ctx, []askedFor{{"judgement.product", product}})
	if err != nil {
		return "", err
	}
	return products[0].Name, nil
}

// decodeJudgement reads it, and of which piece its stage is.
func decodeJudgement(m *workflowv1.Judgement) (j workflow.Judgement, stageOf id.ID, err error) {
	j = workflow.Judgement{Source: sources[m.Source], Certainty: certainties[m.Certainty], Lot: m.Lot, Note: m.Note}
	if m.Product != "" {
		if j.Product, err = id.One("judgement.product", m.Product, "products"); err != nil {
			return j, stageOf, err
		}
	}
	if m.Person != "" {
		if j.Person, err = id.One("judgement.person", m.Person, "people"); err != nil {
			return j, stageOf, err
		}
	}
	if m.Stage != "" {
		stageOf, j.Stage, err = stageName("judgement.stage", m.Stage)
	}
	return j, stageOf, err
}
