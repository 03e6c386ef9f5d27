package server_test

import (
	"testing"
	"time"

	"tackfree/pkg/bustest"
	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// scrapped has intake tell that a piece was given up at the beginning of the tests' day, and
// waits until the floor has heard: work that is written down goes through until then.
func (f *floor) scrapped(t *testing.T, broker *bustest.Broker, person, piece, stage string) {
	t.Helper()
	publishScrap(t, broker.Connect(t), piece)
	deadline := time.Now().Add(10 * time.Second)
	for minute := 200; ; minute += 10 {
		_, err := f.clocks.RecordClockEntry(svctest.Ctx(t), record(person, stage, minute, minute+5))
		if fault.Is(err, "PIECE_SCRAPPED") {
			return
		}
		if err != nil || time.Now().After(deadline) {
			t.Fatalf("RecordClockEntry = %v, want PIECE_SCRAPPED in the end", err)
		}
	}
}

// What was done on a piece before it was given up can still be written down and made right; what
// would have been done later cannot.
func TestServer_WorkOnTheScrapped(t *testing.T) {
	t.Parallel()
	broker := bustest.Start(t)
	f := setupWith(t, svctest.Options{Bus: broker.Connect(t)})
	nell := f.person(t, "Nell", "strip")
	piece, stages := f.planned(t)
	_, others := f.planned(t)
	strip := stages["strip top"].Name
	long, elsewhere := f.works(t, nell, strip, 0, 20), f.works(t, nell, others["strip top"].Name, 20, 40)
	f.scrapped(t, broker, nell, piece, strip)

	asked, err := f.stages.GetStage(t.Context(), &workflowv1.GetStageRequest{Name: strip})
	if err != nil || asked.PieceScrapTime == nil {
		t.Errorf("GetStage = %v, %v, want when its piece was given up", asked, err)
	}
	before, err := f.clocks.RecordClockEntry(svctest.Ctx(t), record(nell, strip, -30, -10))
	if err != nil {
		t.Fatalf("RecordClockEntry of before = %v", err)
	}
	says(t, svctest.Refused(t, f.Service, f.clocks.RecordClockEntry, record(nell, strip, 100, 110), fault.Precondition, "PIECE_SCRAPPED"),
		"Piece 7", "Mon 2 Mar 2026 09:00 EST", "10:50 EST", "End it there")
	change := func(entry *workflowv1.ClockEntry, to *workflowv1.CorrectClockEntryRequest_Replacement) *workflowv1.CorrectClockEntryRequest {
		r := correct(entry.Name, "it was another time")
		r.Replacement = to
		return r
	}
	type replacement = workflowv1.CorrectClockEntryRequest_Replacement
	for name, r := range map[string]*workflowv1.CorrectClockEntryRequest{
		"Sooner":  change(before.ClockEntry, &replacement{EndTime: at(-10), StartTime: at(-40), Stage: strip}),
		"Shorter": change(long, &replacement{EndTime: at(10)}),
	} {
		if _, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), r); err != nil {
			t.Errorf("%s: CorrectClockEntry = %v", name, err)
		}
	}
	svctest.Refused(t, f.Service, f.clocks.CorrectClockEntry, change(elsewhere, &replacement{Stage: strip}), fault.Precondition, "PIECE_SCRAPPED")
}
