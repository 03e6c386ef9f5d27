package server_test

import (
	"testing"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// That a stretch ended in a pause is told with it, and stays with it when it is corrected: short
// pauses are paid.
func TestServer_PauseClock_IsToldWithTheStretch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	f.on(t, nell, stages["strip top"].Name, 0)
	r, err := f.clocks.PauseClock(svctest.Ctx(t), &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: nell, PauseTime: at(20)})
	if err != nil {
		t.Fatal(err)
	}
	if off := f.Last(t).GetClockedOff(); !off.GetPaused() || !off.GetSpan().GetPaused() {
		t.Errorf("event = %v, want a pause", off)
	}
	fix := correct(r.ClockEntries[0].Name, "ten minutes earlier")
	fix.Replacement = &workflowv1.CorrectClockEntryRequest_Replacement{EndTime: at(10)}
	if _, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), fix); err != nil {
		t.Fatal(err)
	}
	if e := f.Last(t).GetClockEntryCorrected(); !e.GetBefore().GetPaused() || !e.GetAfter().GetPaused() {
		t.Errorf("event = %v, want a pause before and after", e)
	}
	e := f.works(t, nell, stages["strip case"].Name, 30, 60)
	if off := f.Last(t).GetClockedOff(); off.GetSpan().GetPaused() || e == nil {
		t.Errorf("event = %v, want no pause", off)
	}
}
