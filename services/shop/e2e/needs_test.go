package e2e_test

import (
	"context"
	"maps"
	"testing"

	"github.com/google/go-cmp/cmp"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// What the plans that stand say that their stages take is what materials needs, or did, of each
// product at each stage; and of what is finished it says so.
func TestStory_MaterialsNeedsWhatIsPlanned(t *testing.T) {
	s := open(t, nil)
	play(t, s.Shop, func(int, int) {})
	want, finished := planned(t, s.Shop)
	if len(want) == 0 || len(finished) == 0 {
		t.Fatalf("the story plans %d stages with a product and finishes %d", len(want), len(finished))
	}
	var got map[string]string
	eventually(t, "materials has heard of all", func() bool {
		got = needed(t, s.Shop, materialsv1.Need_STATE_DONE)
		done := len(got)
		maps.Copy(got, needed(t, s.Shop, materialsv1.Need_STATE_OPEN))
		return done == len(finished) && len(got) == len(want)
	})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("needs (-planned +noted):\n%s", diff)
	}
	for stage := range needed(t, s.Shop, materialsv1.Need_STATE_DONE) {
		if !finished[stage] {
			t.Errorf("%s is done, and was not finished", stage)
		}
	}
}

// planned reads what stages of finish plans take, and which of them are finished.
func planned(t *testing.T, shop *client.Shop) (takes map[string]string, finished map[string]bool) {
	t.Helper()
	takes, finished = map[string]string{}, map[string]bool{}
	for _, c := range costs(t, shop) {
		stages, err := shop.Stages.ListStages(t.Context(), &workflowv1.ListStagesRequest{Piece: c.Piece})
		if err != nil {
			t.Fatal(err)
		}
		plan, err := shop.Finish.GetFinishPlan(t.Context(), &workflowv1.GetFinishPlanRequest{Name: c.Piece})
		if err != nil || plan.Plan.State != workflowv1.FinishPlan_STATE_APPROVED {
			continue // its work was laid out by a route, or not at all
		}
		amounts := map[string]string{}
		for _, p := range plan.Plan.Stages {
			amounts[p.Key+p.PartLabel] = p.Amount.GetValue()
		}
		for _, stage := range stages.Stages {
			if stage.Product == "" {
				continue
			}
			takes[stage.Name] = amounts[stage.Key+stage.PartLabel]
			if stage.State == workflowv1.Stage_STATE_FINISHED {
				finished[stage.Name] = true
			}
		}
	}
	return takes, finished
}

// needed reads what needs of a state were planned to take, by their stages.
func needed(t *testing.T, shop *client.Shop, state materialsv1.Need_State) map[string]string {
	t.Helper()
	all, err := client.All(t.Context(), func(ctx context.Context, token string) ([]*materialsv1.Need, string, error) {
		r, err := shop.Needs.ListNeeds(ctx, &materialsv1.ListNeedsRequest{State: state, PageToken: token})
		return r.GetNeeds(), r.GetNextPageToken(), err
	})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, n := range all {
		out[n.Stage] = n.Planned.GetValue()
	}
	return out
}
