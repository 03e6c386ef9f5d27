package server_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// refusedEnd checks a refusal to finish, that no row changed, and that it says the words.
func (f *floor) refusedEnd(t *testing.T, r *workflowv1.FinishStageRequest, kind fault.Kind, reason string, words ...string) {
	t.Helper()
	says(t, svctest.Refused(t, f.Service, f.stages.FinishStage, r, kind, reason), words...)
}

// writesDown records work that nobody clocked.
func (f *floor) writesDown(t *testing.T, person, stage string, from, to int) {
	t.Helper()
	if _, err := f.clocks.RecordClockEntry(svctest.Ctx(t), &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: person, Stage: stage,
		StartTime: at(from), EndTime: at(to), Reason: "the tablet was flat"}); err != nil {
		t.Fatal(err)
	}
}

// moves corrects an entry, to another stage or another end; empty and 0 leave it.
func (f *floor) moves(t *testing.T, e *workflowv1.ClockEntry, stage string, end int) *workflowv1.ClockEntry {
	t.Helper()
	r := correct(e.Name, "it was noted wrongly")
	r.Replacement = &workflowv1.CorrectClockEntryRequest_Replacement{Stage: stage}
	if end != 0 {
		r.Replacement.EndTime = at(end)
	}
	resp, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.ClockEntry
}

// Work that is written down later, or moved to a stage by a correction, was never asked
// whether it could begin, so its stage is asked when it is finished.
func TestServer_FinishStage_OfWorkThatWasNeverAsked(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	p, stages := f.untested(t, step("sand", ""), step("inspect", ""))
	f.writesDown(t, nell, stages["sand top"], 10, 20)
	f.refusedEnd(t, finishing(stages["sand top"], 30), fault.Precondition, "LEAD_UNTESTED", "sand (top)", "Record a test")
	moved := f.moves(t, f.works(t, nell, stages["inspect case"], 40, 50), stages["sand case"], 0)
	f.refusedEnd(t, finishing(stages["sand case"], 60), fault.Precondition, "LEAD_UNTESTED", "sand (case)", "Record a test")
	f.moves(t, moved, "", 55)
	f.refusedEnd(t, finishing(stages["sand case"], 60), fault.Precondition, "LEAD_UNTESTED")
	f.free(t, p.Name)
	f.finishAt(t, stages["sand top"], 60)
	f.finishAt(t, stages["sand case"], 60)
}

// The same of a part that is still wet; a clock-on that was let in, or had a reason, need not
// be asked again when it is finished, however it is corrected there, until it is sent back.
func TestServer_FinishStage_OfWorkOnAWetPart(t *testing.T) {
	t.Parallel()
	f, nell, _, stages := washed(t)
	sand := stages["sand top"]
	f.writesDown(t, nell, sand, 30, 40)
	f.refusedEnd(t, finishing(sand, 60), fault.Precondition, "PART_NOT_READY", "sand (top)")
	on := f.clockOn(nell, sand, 60)
	on.OverrideReason = "a heater stands before it"
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), on); err != nil {
		t.Fatal(err)
	}
	off, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 70))
	if err != nil {
		t.Fatal(err)
	}
	f.moves(t, off.ClockEntry, "", 65)
	f.finishAt(t, sand, 70)
	if e := f.Last(t).GetStageFinished(); e == nil || e.OverrideReason != "" {
		t.Errorf("event = %v", e)
	}
	f.sendBackAt(t, sand, 80)
	f.writesDown(t, nell, sand, 90, 100)
	f.refusedEnd(t, finishing(sand, 110), fault.Precondition, "PART_NOT_READY")
	r := finishing(sand, 110)
	r.OverrideReason = "it was dry to the finger"
	if _, err := f.stages.FinishStage(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	if e := f.Last(t).GetStageFinished(); e.GetOverrideReason() != r.OverrideReason {
		t.Errorf("event = %v", e)
	}
}

// What was begun before lead was found is not finished as if there were none, whatever the
// reason, until a named person accepts it.
func TestServer_FinishStage_LeadFoundMeanwhile(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	p, stages := f.untested(t, step("sand", ""))
	f.free(t, p.Name)
	f.works(t, nell, stages["sand top"], 10, 20)
	found := leadTest(p.Name, workflowv1.Lead_RESULT_FOUND, 15)
	found.Part = p.Parts[0].Name
	if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), found); err != nil {
		t.Fatal(err)
	}
	whole := leadTest(p.Name, workflowv1.Lead_RESULT_FREE, 18) // which says nothing of the top
	if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), whole); err != nil {
		t.Fatal(err)
	}
	r := finishing(stages["sand top"], 30)
	r.OverrideReason = "it is done already"
	f.refusedEnd(t, r, fault.Precondition, "LEAD_PRESENT", "found lead", "A named person", "local codes")
	accepted := leadTest(p.Name, workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS, 25)
	accepted.Part, accepted.Lead.Controls, accepted.Lead.Person = found.Part, "the dust was wiped up wet and kept", nell
	if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), accepted); err != nil {
		t.Fatal(err)
	}
	f.finishAt(t, stages["sand top"], 30)
}

// A stage at which nobody clocked on has to be fit to begin when it is finished: dry wood, and
// for a coat air that it can stand. Its cautions are not asked. A reason overrides, and is told.
func TestServer_FinishStage_WithoutAClockOn(t *testing.T) {
	t.Parallel()
	f := setup(t)
	p, stages := f.untested(t, step("sand", ""), step("topcoat_coat", "", "sand"))
	f.free(t, p.Name)
	ends := func(r *workflowv1.FinishStageRequest) {
		t.Helper()
		r.RequestId, r.OverrideReason = svctest.NewID(), "the client fetches it today"
		if _, err := f.stages.FinishStage(svctest.Ctx(t), r); err != nil {
			t.Fatal(err)
		}
		if e := f.Last(t).GetStageFinished(); e.GetOverrideReason() != r.OverrideReason {
			t.Errorf("event = %v", e)
		}
	}
	if _, err := f.tests.RecordMoisture(svctest.Ctx(t), moisture(p.Name, p.Parts[0].Name, "", 16, 5)); err != nil {
		t.Fatal(err)
	}
	sand := finishing(stages["sand top"], 10)
	f.refusedEnd(t, sand, fault.Precondition, "WOOD_TOO_WET", "sand (top)", "16 %", "12.0 %", "nobody read the air")
	ends(sand)
	if _, err := f.tests.RecordMoisture(svctest.Ctx(t), moisture(p.Name, p.Parts[0].Name, "", 10, 15)); err != nil {
		t.Fatal(err)
	}
	coat := stages["topcoat_coat top"]
	f.zone(t, "booth", 8, 60, 20)
	f.alter(t, fmt.Sprintf(`UPDATE stage SET coating = '{}', zone_id = (SELECT id FROM zone) WHERE id = '%s'`, tail(coat)))
	f.refusedEnd(t, finishing(coat, 30), fault.Precondition, "UNFIT_FOR_COATING", "topcoat_coat (top)", "8.0 °C", "say why")
	ends(finishing(coat, 30))
}

// A clock-on that is entered later is judged by the air that was last read before it began,
// not by that of now.
func TestServer_ClockOn_UnfitForCoatingBackThen(t *testing.T) {
	t.Parallel()
	f := setupWith(t, svctest.Options{Now: func() time.Time { return at(600).AsTime() }})
	nell := f.person(t, "Nell")
	_, stages := f.untested(t, step("topcoat_coat", ""))
	coat := stages["topcoat_coat top"]
	f.zone(t, "booth", 20, 50, 0)
	for minute, celsius := range map[int]float64{30: 8, 60: 20, 590: 8} {
		f.reads(t, reading("booth", minute, celsius, 50))
	}
	f.alter(t, fmt.Sprintf(`UPDATE stage SET coating = '{}', zone_id = (SELECT id FROM zone) WHERE id = '%s'`, tail(coat)))
	f.refusedOn(t, f.clockOn(nell, coat, 30), "UNFIT_FOR_COATING", "Mon 2 Mar 2026 09:30 EST", "8.0 °C")
	f.refusedOn(t, f.clockOn(nell, coat, 59), "UNFIT_FOR_COATING", "Mon 2 Mar 2026 09:30 EST")
	f.refusedOn(t, f.clockOn(nell, coat, 595), "UNFIT_FOR_COATING", "Mon 2 Mar 2026 18:50 EST")
	f.works(t, nell, coat, 29, 30)
	f.works(t, nell, coat, 60, 61)
	f.works(t, nell, coat, 310, 320) // the reading of before is too old, and the next one too late
}

// A film that nobody lays is refused, and any film of a stage that lays none.
func TestServer_FinishStage_WetFilmThatNobodyLays(t *testing.T) {
	t.Parallel()
	f := setup(t)
	p, stages := f.untested(t, step("topcoat_coat", ""), step("photograph", ""))
	f.free(t, p.Name)
	for _, um := range []float64{-7, 0.5, 5001, math.NaN(), math.Inf(1)} {
		for _, key := range []string{"topcoat_coat top", "photograph top"} {
			r := finishing(stages[key], 10)
			r.WetFilmUm = um
			f.refusedEnd(t, r, fault.Invalid, "OUT_OF_RANGE", "wet film", "from 1 µm to 5000 µm")
		}
	}
	r := finishing(stages["photograph top"], 10)
	r.WetFilmUm = 80
	f.refusedEnd(t, r, fault.Invalid, "OUT_OF_RANGE", "wet film", "this stage leaves no film")
	f.finishAt(t, stages["photograph top"], 10)
}
