package server_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

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
	t.Parallel()
	r := setupDry(t)
	first, _ := r.topcoats(t)
	other, _ := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.wall.set(115)
	r.lays(t, other, "bench", 110)
	still, err := r.air.ObserveDrying(svctest.Ctx(t), observing(first, recoat, 115, 0))
	if err != nil || !still.Learned || still.Outcomes != 1 || still.FactorLow >= still.Factor || still.FactorHigh <= still.Factor {
		t.Fatalf("still tacky = %v, %v", still, err)
	}
	r.wall.set(180)
	got, err := r.air.ObserveDrying(svctest.Ctx(t), observing(first, recoat, 150, 165))
	if err != nil {
		t.Fatal(err)
	}
	if likely(got.DryClock) != 165 || !got.DryClock.IsReady || got.Factor <= 1.05 || got.Outcomes != 1 {
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
	t.Parallel()
	r := setupDry(t)
	first, second := r.topcoats(t)
	r.wall.set(180)
	svctest.Refused(t, r.Service, r.air.ObserveDrying, observing(first, recoat, 0, 100), fault.NotFound, "DRY_CLOCK_NOT_FOUND")
	r.lays(t, first, "bench", 0)
	until(t, "it is told as ready", func() bool { _, ready, _ := r.told(t, first); return len(ready) > 0 })
	for reason, req := range map[string]*workflowv1.ObserveDryingRequest{
		"OUTCOME_EMPTY":     observing(first, recoat, 0, 0),
		"OUTCOME_BACKWARDS": observing(first, recoat, 120, 100),
		"NOT_STATED":        observing(first, workflowv1.ObserveDryingRequest_MILESTONE_SAND, 0, 100),
		"TIME_IN_FUTURE":    observing(first, recoat, 0, 300),
	} {
		svctest.Refused(t, r.Service, r.air.ObserveDrying, req, fault.Invalid, reason)
	}
	svctest.Refused(t, r.Service, r.air.ObserveDrying, observing(second, recoat, 0, 100), fault.NotFound, "DRY_CLOCK_NOT_FOUND")
}

// Still tacky at two hours and a half: nobody begins on the next coat then, though its time
// to recoat was over.
func TestServer_ObserveDrying_StillTacky(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	nell := r.person(t, "Nell")
	first, second := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.wall.set(150)
	until(t, "it is told as ready", func() bool { _, ready, _ := r.told(t, first); return len(ready) > 0 })
	got, err := r.air.ObserveDrying(svctest.Ctx(t), observing(first, workflowv1.ObserveDryingRequest_MILESTONE_TACK_FREE, 150, 0))
	if err != nil || got.DryClock.IsReady || likely(got.DryClock) <= 150 {
		t.Errorf("still tacky at 150 minutes = %v, %v", got, err)
	}
	svctest.Refused(t, r.Service, r.clocks.ClockOn, r.clockOn(nell, second.Name, 150), fault.Precondition, "PART_NOT_READY")
	if moved, _, _ := r.told(t, first); len(moved) != 2 {
		t.Errorf("told %d times, want also that it is not ready after all", len(moved))
	}
	r.dense(t, first)
}

// What a finger felt counts, though by its sheet it can hardly be: it holds for the coat, and
// nothing is learned of the product.
func TestServer_ObserveDrying_AgainstAllExpectation(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	first, _ := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.wall.set(5)
	got, err := r.air.ObserveDrying(svctest.Ctx(t), observing(first, recoat, 0, 1))
	if err != nil || got.Learned || !got.DryClock.IsReady || likely(got.DryClock) != 1 || got.Outcomes != 0 || got.Factor != 1 || got.FactorLow >= 1 {
		t.Errorf("dry after a minute = %v, %v", got, err)
	}
	r.wall.set(1000 * 60)
	got, err = r.air.ObserveDrying(svctest.Ctx(t), observing(first, recoat, 1000*60, 0))
	if err != nil || got.DryClock.IsReady || likely(got.DryClock) <= 1000*60 || got.Outcomes != 0 {
		t.Errorf("tacky after six weeks = %v, %v", got, err)
	}
	seen := 0
	for _, e := range r.Events(t) {
		if o := e.GetDryingObserved(); o != nil && !o.Learned {
			seen++
		}
	}
	if seen != 2 {
		t.Errorf("%d of two sightings are told", seen)
	}
	r.dense(t, first)
}

// One coat that somebody looks at twelve times is one coat; another one is another.
func TestServer_ObserveDrying_ACoatCountsOnce(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	first, _ := r.topcoats(t)
	other, _ := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.lays(t, other, "bench", 0)
	r.wall.set(200)
	looks := func(s *workflowv1.Stage) *workflowv1.ObserveDryingResponse {
		got, err := r.air.ObserveDrying(svctest.Ctx(t), observing(s, recoat, 150, 165))
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	once := looks(first)
	for range 11 {
		if got := looks(first); got.Outcomes != 1 || got.Factor != once.Factor || got.FactorHigh != once.FactorHigh {
			t.Fatalf("looked at again: %v, once %v", got, once)
		}
	}
	if got := looks(other); got.Outcomes != 2 || got.FactorHigh/got.FactorLow >= once.FactorHigh/once.FactorLow {
		t.Errorf("another coat: %v", got)
	}
}
