package workflow_test

import (
	"slices"
	"testing"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// laidPlan lays out stages that somebody wrote for a top of unknown age and a bare case,
// whatever the rules say of them.
func laidPlan(t *testing.T, stages ...workflow.PlanStage) map[string]workflow.Stage {
	t.Helper()
	plan := workflow.FinishPlan{Piece: id.New(), Version: 1, State: workflow.PlanDraft}
	plan.Parts = []workflow.PlanPart{{ID: top, Label: "top", Material: finish.SolidWood, OldFinish: finish.OilVarnish}, {ID: body, Label: "case", Material: finish.SolidWood}}
	plan.Stages = stages
	laid, err := plan.Approve(workflow.Piece{ID: plan.Piece}, nil, "Nell", nine, id.New)
	if err != nil {
		t.Fatal(err)
	}
	return stagesOf(laid.Stages)
}

func written(part string, kind finish.Kind, after ...string) workflow.PlanStage {
	return workflow.PlanStage{Part: part, Key: string(kind), Kind: kind, After: after}
}

// A stage that somebody wrote into a plan waits for a test for lead as those of the rules do,
// under whatever name it makes dust, and warns of dust and of lead.
func TestFinishPlan_Approve_KindsOfTheShop(t *testing.T) {
	own := written("top", "hand_sanding")
	own.Cautions = []string{"dust", "vapour"}
	stages := laidPlan(t, own, written("case", "hand_sanding"), written("", "heat_gun"), written("top", "polish"))
	if s := stages["hand_sanding (top)"]; !s.DisturbsOld || !slices.Equal(s.Cautions, []string{"dust", "vapour", "lead"}) {
		t.Errorf("sanding by hand disturbs the old varnish: %v, warns of %v", s.DisturbsOld, s.Cautions)
	}
	if s := stages["hand_sanding (case)"]; s.DisturbsOld || !slices.Equal(s.Cautions, []string{"dust"}) {
		t.Errorf("on bare wood it disturbs an old coating: %v, warns of %v", s.DisturbsOld, s.Cautions)
	}
	if s := stages["heat_gun"]; !s.DisturbsOld || !slices.Contains(s.Cautions, "lead") {
		t.Errorf("on the whole piece a heat gun disturbs the old varnish: %v, warns of %v", s.DisturbsOld, s.Cautions)
	}
	if s := stages["polish (top)"]; s.DisturbsOld || len(s.Cautions) > 0 {
		t.Errorf("polishing disturbs the old varnish: %v, warns of %v", s.DisturbsOld, s.Cautions)
	}
}

// The old varnish is gone for what comes after the stripping, and not for what is merely
// written below it.
func TestFinishPlan_Approve_OldCoatingsAreGoneBehindTheStrip(t *testing.T) {
	strip := written("top", finish.Strip)
	for name, c := range map[string]struct {
		sand workflow.PlanStage
		want bool
	}{
		"Behind":      {written("top", "hand_sanding", "wash (top)"), false},
		"Beside":      {written("top", "hand_sanding"), true},
		"WholeBehind": {written("", "hand_sanding", "wash (top)"), false}, // the case is bare
		"WholeBeside": {written("", "hand_sanding"), true},
	} {
		stages := laidPlan(t, strip, written("top", "wash", "strip (top)"), c.sand)
		if got := stages[c.sand.Title()].DisturbsOld; got != c.want {
			t.Errorf("%s: sanding disturbs the old varnish: %v, want %v", name, got, c.want)
		}
	}
}
