package workflow_test

import (
	"testing"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// Somebody looks at a coat as soon as it would take another; once it has passed, it is waited
// for until the hardware can go on.
func TestPlan_Renew_PastALook(t *testing.T) {
	coat, look, hardware := id.New(), id.New(), id.New()
	p := workflow.Plan{Clocks: []workflow.DryClock{{Stage: coat, Pass: 1}}, Stages: []workflow.Stage{
		{ID: coat, Kind: "topcoat_coat", FinishedAt: nine},
		{ID: look, Kind: "inspect", After: []id.ID{coat}, Finish: workflow.Finish{Needs: finish.NeedsRecoat}},
		{ID: hardware, Kind: "hardware_on", After: []id.ID{look}, Finish: workflow.Finish{Needs: finish.NeedsCured}}}}
	for _, want := range []finish.Needs{finish.NeedsRecoat, finish.NeedsCured} {
		if p.Renew(); p.Clocks[0].Needs != want {
			t.Errorf("it is waited for until it is %q, want %q", p.Clocks[0].Needs, want)
		}
		p.Stages[1].FinishedAt = nine
	}
}
