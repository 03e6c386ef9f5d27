package server_test

import (
	"math"
	"testing"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// upTo finishes the stages of a plan in their order, up to one of them, which is laid in a
// zone. Nobody waits for anything.
func (r *dryRoom) upTo(t testing.TB, stages []*workflowv1.PlannedStage, by map[string]*workflowv1.Stage, last, word string, minute int) *workflowv1.Stage {
	t.Helper()
	r.wall.set(minute)
	for _, s := range stages {
		name := title(s.Key, s.PartLabel)
		f := finishing(by[name].Name, minute)
		f.OverrideReason = "for the test"
		if name == last && word != "" {
			f.Zone = "climateZones/" + word
		}
		if g, err := r.stages.GetStage(t.Context(), &workflowv1.GetStageRequest{Name: f.Stage}); err != nil {
			t.Fatal(err)
		} else if g.Stage.State == workflowv1.Stage_STATE_FINISHED {
			continue
		}
		if _, err := r.stages.FinishStage(svctest.Ctx(t), f); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if name == last {
			break
		}
	}
	return by[last]
}

// From the data sheet to the forecast. The varnish is sanded 12 hours after it was laid, by its
// sheet: at 25 °C, and 50 µm wet, which is 25 µm dry of half solids, as it is planned. By hand,
// at 15 °C it takes exp(51,000/8.3145 · (1/288.15 − 1/298.15)) = 2.042 times as long, which is
// 24 hours and 30 minutes.
func TestServer_FromTheSheetToTheForecast(t *testing.T) {
	t.Parallel()
	for word, want := range map[string]float64{"": 10 + 720, "bench": 10 + 1470.3} {
		r := setupDry(t)
		r.reads(t, reading("bench", 0, 15, 50))
		d := r.dresser()
		plan, by := r.approved(t, d)
		coat := r.upTo(t, plan.Stages, by, "topcoat (top)", word, 10)
		c := r.clock(t, coat)
		if c == nil || math.Abs(likely(c)-want) > 0.5 || c.Needs != workflowv1.DryState_DRY_STATE_SAND || c.ProductName != "wiping varnish" {
			t.Errorf("in %q it is forecast as %v, want it to be sanded after %v minutes", word, c, want)
		}
		if moved, _, _ := r.told(t, coat); len(moved) != 1 || moved[0].Needs != "sand" || math.Abs(moved[0].Ready.AsTime().Sub(morning).Minutes()-want) > 0.5 {
			t.Errorf("in %q it is told %v", word, moved)
		}
	}
}

// The last coat is on and cures, and nobody looks at it before; then the client wants another one:
// it is waited for until it can be sanded, and not longer, and that is told at once.
func TestServer_AmendedWhileItDries(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	d := r.dresser()
	plan, by := r.approved(t, d)
	unseen, err := r.plans.AmendFinishPlan(svctest.Ctx(t), amending(d.Name, without(plan.Stages, "film-check")))
	if err != nil {
		t.Fatal(err)
	}
	plan = unseen.Plan
	coat := r.upTo(t, plan.Stages, by, "topcoat-2 (top)", "bench", 10)
	if c := r.clock(t, coat); c.Needs != workflowv1.DryState_DRY_STATE_CURED || likely(c) != 10+10080 {
		t.Errorf("the last coat is waited for until it is %v", c)
	}
	if _, err := r.plans.AmendFinishPlan(svctest.Ctx(t), amending(d.Name, anotherTopcoat(plan.Stages))); err != nil {
		t.Fatal(err)
	}
	if c := r.clock(t, coat); c.Needs != workflowv1.DryState_DRY_STATE_SAND || likely(c) != 10+720 {
		t.Errorf("before another coat it is waited for until it is %v", c)
	}
	if moved, _, _ := r.told(t, coat); len(moved) != 2 || moved[1].Needs != "sand" {
		t.Errorf("told %v", moved)
	}
	r.wall.set(10 + 721)
	until(t, "it is told as ready to be sanded", func() bool { _, ready, _ := r.told(t, coat); return len(ready) > 0 })
	if _, ready, _ := r.told(t, coat); ready[0].GetPartReady().Needs != "sand" {
		t.Errorf("told as ready: %v", ready[0])
	}
	r.dense(t, coat)
}
