package store_test

import (
	"context"
	"testing"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// used is a version whose parts are covered with a topcoat, a stain chosen for the piece and another
// for a part, and an oil that no stage has.
func used(p workflow.Plan, version int32, state workflow.PlanState, minute int, topcoat, stain, own id.ID) workflow.FinishPlan {
	out := finishPlan(p, version, state)
	if state == workflow.PlanApproved {
		out.ApprovedAt = after(minute)
	}
	out.Choices = []workflow.PlanChoice{{Use: workflow.UseTopcoat, Product: topcoat}, {Use: workflow.UseOil, Product: id.New()}}
	if stain != id.Nil {
		out.Choices = append(out.Choices, workflow.PlanChoice{Use: workflow.UseStain, Product: stain})
	}
	out.Parts[0].Choices = []workflow.PlanChoice{{Use: workflow.UseGlaze, Product: own}}
	for _, product := range []id.ID{topcoat, stain, own} {
		out.Stages = append(out.Stages, workflow.PlanStage{Part: "top", Key: product.String(), Product: product})
	}
	return out
}

// What counts is the newest plan that is approved and uses a product for it: neither a draft nor what
// an amendment put away, and no product that was chosen and not used.
func TestStore_LastUsed(t *testing.T) {
	db := setup(t)
	one, other := plan(t, db, 1), plan(t, db, 2)
	old, late, superseded, draft, stain, glaze := id.New(), id.New(), id.New(), id.New(), id.New(), id.New()
	keepPlans(t, db,
		used(one, 1, workflow.PlanApproved, 40, superseded, id.Nil, id.New()), used(one, 2, workflow.PlanApproved, 20, old, stain, id.New()),
		used(other, 1, workflow.PlanApproved, 30, late, id.Nil, glaze), used(other, 2, workflow.PlanDraft, 0, draft, draft, draft))
	want := []workflow.PlanChoice{{Use: workflow.UseGlaze, Product: glaze}, {Use: workflow.UseStain, Product: stain}, {Use: workflow.UseTopcoat, Product: late}}
	see(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.LastUsed(ctx, []workflow.Use{workflow.UseTopcoat, workflow.UseStain, workflow.UseGlaze, workflow.UseOil, workflow.UsePaint})
		same(t, "last used", want, got)
		return err
	})
	see(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.LastUsed(ctx, nil)
		same(t, "of no use", []workflow.PlanChoice{}, got)
		return err
	})
}
