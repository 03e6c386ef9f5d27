package server_test

import (
	"testing"
	"time"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// The service is away when a coat becomes ready, and again when its window closes: each is
// told once, as of when it came about.
func TestServer_Timers_SurviveARestart(t *testing.T) {
	t.Parallel()
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
	t.Parallel()
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
	t.Parallel()
	r := setupDry(t)
	stages := r.coats(t, step("topcoat", ""), step("topcoat-2", "", "topcoat"), step("topcoat-3", "", "topcoat-2"))
	first, second := stages[0], stages[1]
	r.lays(t, first, "bench", 0)
	r.wall.set(200)
	r.lays(t, second, "bench", 190)
	r.wall.set(50 * 60)
	until(t, "the window of the second coat", func() bool { _, _, closing := r.told(t, second); return len(closing) > 0 })
	if _, _, closing := r.told(t, first); len(closing) > 0 {
		t.Errorf("told of the first coat, which lies under the second: %v", closing)
	}
}

// Somebody clocked on at the second coat by mistake, and took it back: the window of the first
// is spoken of after all.
func TestServer_Timers_AMistakenClockOnDoesNotHush(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	nell := r.person(t, "Nell")
	first, second := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.wall.set(22*60 - 10)
	e := r.works(t, nell, second.Name, 130, 135)
	r.wall.set(22*60 + 5)
	other, _ := r.topcoats(t) // what is told of it is told after a look at all
	r.lays(t, other, "bench", 0)
	until(t, "another window is told to close", func() bool { _, _, closing := r.told(t, other); return len(closing) > 0 })
	if _, _, closing := r.told(t, first); len(closing) != 0 {
		t.Errorf("the second coat is begun, and it is told %v", closing)
	}
	if _, err := r.clocks.CorrectClockEntry(svctest.Ctx(t), correct(e.Name, "it was the other dresser")); err != nil {
		t.Fatal(err)
	}
	r.wall.set(22*60 + 10)
	until(t, "its window is told to close", func() bool { _, _, closing := r.told(t, first); return len(closing) > 0 })
	r.dense(t, first)
}

// A cold week is read when the coat is thought to have cured: it is not ready after all, and
// that is told.
func TestServer_LateReadings(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	first, _ := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	cured := 72 * 60
	r.wall.set(cured + 70)
	until(t, "it has ended", func() bool {
		list, err := r.air.ListDryClocks(t.Context(), &workflowv1.ListDryClocksRequest{})
		return err == nil && len(list.DryClocks) == 0
	})
	before, _, _ := r.told(t, first)
	r.reads(t, reading("bench", 10, 6, 90))
	until(t, "it is told not to be ready", func() bool { moved, _, _ := r.told(t, first); return len(moved) > len(before) })
	if c := r.clock(t, first); likely(c) < 600 || c.Cured.LikelyTime.AsTime().Before(morning.Add(200*time.Hour)) {
		t.Errorf("it was cold, and it is %v", c)
	}
	r.dense(t, first)
}
