package server

import (
	"context"
	"fmt"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// edits is what somebody makes of a piece's plan, and what materials says of the products.
type edits struct {
	piece id.ID
	workflow.Edits
	askErr error // of materials, which is judged in the transaction
}

// readEdits reads them, and asks materials before the transaction.
func (s *Server) readEdits(ctx context.Context, piece string, stages []*workflowv1.PlannedStage, overrides []*workflowv1.Override) (e edits, err error) {
	if e.piece, err = id.One("piece", piece, "pieces"); err != nil {
		return e, err
	}
	if e.Stages, err = decodePlanStages(stages); err != nil {
		return e, err
	}
	if e.Overrides, err = decodeOverrides(overrides); err != nil {
		return e, err
	}
	e.Products, e.askErr = s.productsNow(ctx, e.piece, e.Stages)
	return e, nil
}

// productsNow asks materials for the products of a piece's newest plan, of which one may be
// gone, and for those that stages name beside them. Fault: PRODUCT_NOT_FOUND, at a stage.
func (s *Server) productsNow(ctx context.Context, piece id.ID, stages []workflow.PlanStage) ([]workflow.PlanProduct, error) {
	var plan workflow.FinishPlan
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		plan, err = store.New(q).NewestFinishPlan(ctx, piece)
		return err
	})
	if err != nil && !fault.Is(err, "PLAN_NOT_FOUND") {
		return nil, err
	}
	var asked []askedFor
	for _, p := range plan.Products {
		asked = append(asked, askedFor{product: p.ID})
	}
	return s.products(ctx, append(asked, productsOf(stages)...))
}

// revise is the plan as it would be with the edits.
func (e edits) revise(ctx context.Context, st store.Store, plan workflow.FinishPlan, f workflow.Floor) (workflow.PlanBody, error) {
	if e.askErr != nil {
		return workflow.PlanBody{}, e.askErr
	}
	labour, err := st.Labour(ctx)
	if err != nil {
		return workflow.PlanBody{}, err
	}
	return plan.Revise(f, e.Edits, labour)
}

// named are the overrides with the names of who answers. Fault: PERSON_NOT_FOUND.
func (e edits) named(ctx context.Context, st store.Store) ([]workflow.PlanOverride, error) {
	names, err := st.Names(ctx, whoOverrode(e.Overrides))
	if err != nil {
		return nil, err
	}
	out := make([]workflow.PlanOverride, len(e.Overrides))
	for i, o := range e.Overrides {
		if o.PersonName = names[o.Person]; o.PersonName == "" {
			return nil, fault.New(fault.NotFound, "PERSON_NOT_FOUND", "There is no such person to answer for breaking a rule; look the name up in the list of people.").
				At(fmt.Sprintf("overrides[%d].person", i))
		}
		out[i] = o
	}
	return out, nil
}

// known are the overrides by people who are in the shop.
func (e edits) known(ctx context.Context, st store.Store) (out []workflow.PlanOverride, err error) {
	names, err := st.Names(ctx, whoOverrode(e.Overrides))
	for _, o := range e.Overrides {
		if o.PersonName = names[o.Person]; o.PersonName != "" {
			out = append(out, o)
		}
	}
	return out, err
}
