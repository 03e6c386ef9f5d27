package server_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// The service is away when a coat becomes ready, and again when its window closes: each is
// told once, as of when it came about.
func TestServer_Timers_SurviveARestart(t *testing.T) {
	r := setupDry(t)
	first, _ := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.Stop()
	r.wall.set(300)
	r = r.again(t)
	until(t, "it is told as ready", func() bool { _, ready, _ := r.told(t, first); return len(ready) > 0 })
	r.Stop()
	r.wall.set(23 * 60)
	r = r.again(t)
	until(t, "its window is told to close", func() bool { _, _, closing := r.told(t, first); return len(closing) > 0 })
	r.Stop()
	r.wall.set(30 * 60)
	r = r.again(t)
	other, _ := r.topcoats(t) // what is told of it is told after a look at all
	r.lays(t, other, "bench", 0)
	until(t, "another is told as ready", func() bool { _, ready, _ := r.told(t, other); return len(ready) > 0 })
	moved, ready, closing := r.told(t, first)
	if len(moved) != 1 || len(ready) != 1 || len(closing) != 1 {
		t.Fatalf("told %d, %d and %d times", len(moved), len(ready), len(closing))
	}
	if e := ready[0]; e.OccurredAt.AsTime() != morning.Add(2*time.Hour) || e.GetPartReady().Ready.AsTime() != morning.Add(2*time.Hour) || e.GetPartReady().Needs != "recoat" || e.Actor == "" {
		t.Errorf("ready = %v", e)
	}
	if e := closing[0]; e.OccurredAt.AsTime() != morning.Add(22*time.Hour) || e.GetRecoatWindowClosing().WindowCloses.AsTime() != morning.Add(24*time.Hour) {
		t.Errorf("closing = %v", e)
	}
	r.dense(t, first)
}

// Two copies of the service look at the same rows, and tell each thing once.
func TestServer_Timers_TwoInstances(t *testing.T) {
	r := setupDry(t)
	second := r.again(t)
	var wet []*workflowv1.Stage
	for range 10 {
		first, _ := r.topcoats(t)
		r.lays(t, first, "bench", 0)
		wet = append(wet, first)
	}
	r.wall.set(121)
	all := func(count func(*workflowv1.Stage) int) func() bool {
		return func() bool {
			for _, s := range wet {
				if count(s) == 0 {
					return false
				}
			}
			return true
		}
	}
	until(t, "all are told as ready", all(func(s *workflowv1.Stage) int { _, ready, _ := r.told(t, s); return len(ready) }))
	second.reads(t, reading("bench", 121, 18, 60)) // the other is told, and the one sees it
	until(t, "all have moved", all(func(s *workflowv1.Stage) int { moved, _, _ := r.told(t, s); return len(moved) - 1 }))
	r.wall.set(100 * 60)
	until(t, "all windows are told to close", all(func(s *workflowv1.Stage) int { _, _, closing := r.told(t, s); return len(closing) }))
	for _, s := range wet {
		moved, ready, closing := r.told(t, s)
		if len(closing) != 1 || len(ready) != len(moved) { // ready, moved away and ready again
			t.Errorf("%d forecasts, %d times ready, %d windows", len(moved), len(ready), len(closing))
		}
		r.dense(t, s)
	}
}

// Nobody must hurry when the next coat was begun in time.
func TestServer_Timers_NoWindowOverANewCoat(t *testing.T) {
	r := setupDry(t)
	first, second := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.wall.set(200)
	r.lays(t, second, "bench", 190)
	r.wall.set(50 * 60)
	until(t, "the window of the second coat", func() bool { _, _, closing := r.told(t, second); return len(closing) > 0 })
	if _, _, closing := r.told(t, first); len(closing) > 0 {
		t.Errorf("told of the first coat, which lies under the second: %v", closing)
	}
}

func observing(stage *workflowv1.Stage, m workflowv1.ObserveDryingRequest_Milestone, notYet, reached int) *workflowv1.ObserveDryingRequest {
	r := &workflowv1.ObserveDryingRequest{RequestId: svctest.NewID(), Stage: stage.Name, Milestone: m}
	if notYet != 0 {
		r.NotYetTime = at(notYet)
	}
	if reached != 0 {
		r.ReachedTime = at(reached)
	}
	return r
}

const recoat = workflowv1.ObserveDryingRequest_MILESTONE_RECOAT

// Somebody feels the film: the part is ready when they say, the product is known to be slow,
// and what else is wet of it is computed anew.
func TestServer_ObserveDrying(t *testing.T) {
	r := setupDry(t)
	first, _ := r.topcoats(t)
	other, _ := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.wall.set(115)
	r.lays(t, other, "bench", 110)
	still, err := r.air.ObserveDrying(svctest.Ctx(t), observing(first, recoat, 115, 0))
	if err != nil || still.Outcomes != 1 || still.FactorLow >= still.Factor || still.FactorHigh <= still.Factor {
		t.Fatalf("still tacky = %v, %v", still, err)
	}
	r.wall.set(180)
	got, err := r.air.ObserveDrying(svctest.Ctx(t), observing(first, recoat, 150, 165))
	if err != nil {
		t.Fatal(err)
	}
	if likely(got.DryClock) != 165 || !got.DryClock.IsReady || got.Factor <= 1.05 || got.Outcomes != 2 {
		t.Errorf("dry at 165 minutes = %v", got)
	}
	_, ready, _ := r.told(t, first)
	if n := len(ready); n == 0 || ready[n-1].OccurredAt.AsTime() != morning.Add(165*time.Minute) {
		t.Errorf("told as ready: %v", ready)
	}
	until(t, "the other coat is known to take longer", func() bool { return likely(r.clock(t, other)) > 110+125 })
	var seen int
	for _, e := range r.Events(t) {
		if o := e.GetDryingObserved(); o != nil && o.Milestone == "dry to recoat" && o.ProductId == varnishID.String() && o.PartId != "" && o.NotYet != nil {
			seen++
		}
	}
	if seen != 2 {
		t.Errorf("%d times seen, want 2", seen)
	}
	later, _ := r.topcoats(t)
	r.lays(t, later, "", 175)
	if likely(r.clock(t, later)) < 175+125 {
		t.Errorf("a new coat is forecast by the sheet alone, ready at %v", likely(r.clock(t, later)))
	}
	r.dense(t, first)
}

func TestServer_ObserveDrying_Refuses(t *testing.T) {
	r := setupDry(t)
	first, second := r.topcoats(t)
	r.wall.set(180)
	svctest.Refused(t, r.Service, r.air.ObserveDrying, observing(first, recoat, 0, 100), fault.NotFound, "DRY_CLOCK_NOT_FOUND")
	r.lays(t, first, "bench", 0)
	until(t, "it is told as ready", func() bool { _, ready, _ := r.told(t, first); return len(ready) > 0 })
	for reason, req := range map[string]*workflowv1.ObserveDryingRequest{
		"OUTCOME_EMPTY":      observing(first, recoat, 0, 0),
		"OUTCOME_BACKWARDS":  observing(first, recoat, 120, 100),
		"OUTCOME_IMPOSSIBLE": observing(first, workflowv1.ObserveDryingRequest_MILESTONE_CURED, 0, 1),
		"NOT_STATED":         observing(first, workflowv1.ObserveDryingRequest_MILESTONE_SAND, 0, 100),
		"TIME_IN_FUTURE":     observing(first, recoat, 0, 300),
	} {
		svctest.Refused(t, r.Service, r.air.ObserveDrying, req, fault.Invalid, reason)
	}
	svctest.Refused(t, r.Service, r.air.ObserveDrying, observing(second, recoat, 0, 100), fault.NotFound, "DRY_CLOCK_NOT_FOUND")
}
