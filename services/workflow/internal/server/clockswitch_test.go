package server_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *floor) on(t testing.TB, person, stage string, minute int) *workflowv1.ClockEntry {
	t.Helper()
	r, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(person, stage, minute))
	if err != nil {
		t.Fatal(err)
	}
	return r.ClockEntry
}

// indirectly is a clock-on at what belongs to no piece.
func indirectly(person, kind string, minute int) *workflowv1.ClockOnRequest {
	return &workflowv1.ClockOnRequest{RequestId: svctest.NewID(), Person: person, Indirect: kind, StartTime: at(minute)}
}

// Off at the one and on at the other are one instant and one command: nothing is lost between
// them, and a refusal leaves the first clock running.
func TestServer_SwitchClock(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	top, side := stages["strip top"].Name, stages["strip case"].Name
	f.on(t, nell, top, 0)
	to := func(stage string, minute int) *workflowv1.SwitchClockRequest {
		return &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: nell, Stage: stage, SwitchTime: at(minute), AcknowledgedCautions: f.cautions[stage]}
	}
	svctest.Refused(t, f.Service, f.clocks.SwitchClock, to(stages["sand top"].Name, 30), fault.Precondition, "STAGE_NOT_READY")
	svctest.Refused(t, f.Service, f.clocks.SwitchClock, to(side, 0), fault.Invalid, "CLOCK_ENDS_BEFORE_START")
	svctest.Refused(t, f.Service, f.clocks.SwitchClock, &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: nell}, fault.Invalid, "TARGET_MISSING")
	both := to(side, 30)
	both.Indirect = "cleaning"
	svctest.Refused(t, f.Service, f.clocks.SwitchClock, both, fault.Invalid, "TARGET_MISSING")

	r, err := f.clocks.SwitchClock(svctest.Ctx(t), to(side, 30))
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Ended) != 1 || len(r.Begun) != 1 || r.Ended[0].Stage != top || r.Begun[0].Stage != side || !r.Ended[0].EndTime.AsTime().Equal(r.Begun[0].StartTime.AsTime()) {
		t.Errorf("switch = %v", r)
	}
	again, err := f.clocks.SwitchClock(svctest.Ctx(t), &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "cleaning", SwitchTime: at(50)})
	if err != nil || again.Begun[0].Indirect != "cleaning" || again.Begun[0].Stage != "" || again.Begun[0].PieceTag != 0 {
		t.Errorf("switch to cleaning = %v, %v", again, err)
	}
	last := f.Last(t)
	if last.AggregateKind != "person" || last.PieceId != "" || last.GetClockedOn().GetSpan().GetIndirect() != "cleaning" {
		t.Errorf("event = %v, want one of the person", last)
	}
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 60)); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, f.Service, f.clocks.SwitchClock, to(top, 70), fault.Precondition, "CLOCK_NOT_OPEN")
}

// Done here and on to the next stage of the same piece is one step: one instant, one command,
// and events of one piece that follow each other. What cannot be finished is not left either.
func TestServer_SwitchClock_Finishes(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell", "strip"), f.person(t, "Odo", "strip")
	_, stages := f.planned(t)
	strip, sand := stages["strip top"].Name, stages["sand top"].Name
	to := func(minute int) *workflowv1.SwitchClockRequest {
		return &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: nell, Stage: sand, SwitchTime: at(minute), AcknowledgedCautions: f.cautions[sand], Finish: true}
	}
	f.on(t, nell, strip, 0)
	f.on(t, odo, strip, 5)
	says(t, svctest.Refused(t, f.Service, f.clocks.SwitchClock, to(30), fault.Precondition, "STAGE_HAS_OPEN_CLOCK"), "Odo")
	f.clockedOff(t, odo, 20)
	early := svctest.Refused(t, f.Service, f.clocks.SwitchClock, to(10), fault.Invalid, "FINISH_BEFORE_WORK")
	if len(early.Fields) != 1 || early.Fields[0].Path != "switch_time" {
		t.Errorf("it is wrong at %v", early.Fields)
	}
	without := to(30)
	without.Finish = false
	svctest.Refused(t, f.Service, f.clocks.SwitchClock, without, fault.Precondition, "STAGE_NOT_READY")
	before := len(f.Events(t))

	r := to(30)
	got, err := f.clocks.SwitchClock(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	if got.Finished.GetName() != strip || got.Finished.State != workflowv1.Stage_STATE_FINISHED || !got.Finished.FinishTime.AsTime().Equal(at(30).AsTime()) ||
		got.Ended[0].Stage != strip || got.Begun[0].Stage != sand || !got.Begun[0].StartTime.AsTime().Equal(at(30).AsTime()) {
		t.Errorf("switch = %v", got)
	}
	var told []string
	for i, e := range f.Events(t)[before:] {
		told = append(told, fmt.Sprintf("%T", e.Payload))
		if e.AggregateKind != "piece" || i > 0 && e.Version != f.Events(t)[before].Version+int64(i) {
			t.Errorf("event %d is of a %s in version %d", i, e.AggregateKind, e.Version)
		}
	}
	if want := []string{"*eventsv1.Envelope_ClockedOff", "*eventsv1.Envelope_StageFinished", "*eventsv1.Envelope_ClockedOn"}; !slices.Equal(told, want) {
		t.Errorf("events = %v, want %v", told, want)
	}
	again, err := f.clocks.SwitchClock(svctest.Ctx(t), r)
	if diff := cmp.Diff(got, again, protocmp.Transform()); err != nil || diff != "" {
		t.Errorf("asked again = %v (-first +second):\n%s", err, diff)
	}
}

// What belongs to no piece is not finished, nor is one stage of a batch, nor an inspection.
func TestServer_SwitchClock_FinishesNoOther(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "inspect")
	away := func(minute int) *workflowv1.SwitchClockRequest {
		return &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "training", SwitchTime: at(minute), Finish: true}
	}
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), indirectly(nell, "cleaning", 0)); err != nil {
		t.Fatal(err)
	}
	says(t, svctest.Refused(t, f.Service, f.clocks.SwitchClock, away(10), fault.Precondition, "NOTHING_TO_FINISH"), "cleaning")
	f.clockedOff(t, nell, 10)
	b := f.formed(t, f.dewaxing(t)...)
	f.onBatch(t, nell, b.Name, 20)
	says(t, svctest.Refused(t, f.Service, f.clocks.SwitchClock, away(30), fault.Precondition, "STAGE_IN_BATCH"), b.DisplayName, "then finish the batch")
	f.clockedOff(t, nell, 30)
	look := step("inspect", "inspect")
	look.Scope = workflowv1.Step_SCOPE_PIECE
	_, stages := f.untested(t, look)
	f.on(t, nell, stages["inspect "], 40)
	svctest.Refused(t, f.Service, f.clocks.SwitchClock, away(50), fault.Precondition, "INSPECTION_DUE")
}

// What belongs to no piece is a word of the shop's own, and who types another is told how.
func TestServer_IndirectWords(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	for _, kind := range []string{"Cleaning", "pick ups", "pick-ups"} {
		says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, indirectly(nell, kind, 0), fault.Invalid, "INVALID_FIELD"), "lower-case words joined by underscores")
	}
}

// A pause ends the entry and keeps what it was on; the person goes on there, or elsewhere.
func TestServer_PauseAndResume(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	top := stages["strip top"].Name
	pause := func(minute int) *workflowv1.PauseClockRequest {
		return &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: nell, PauseTime: at(minute)}
	}
	resume := func(minute int) *workflowv1.ResumeClockRequest {
		return &workflowv1.ResumeClockRequest{RequestId: svctest.NewID(), Person: nell, ResumeTime: at(minute)}
	}
	svctest.Refused(t, f.Service, f.clocks.PauseClock, pause(0), fault.Precondition, "CLOCK_NOT_OPEN")
	svctest.Refused(t, f.Service, f.clocks.ResumeClock, resume(0), fault.Precondition, "NOT_PAUSED")
	f.on(t, nell, top, 0)
	svctest.Refused(t, f.Service, f.clocks.ResumeClock, resume(5), fault.Precondition, "NOT_PAUSED")
	r, err := f.clocks.PauseClock(svctest.Ctx(t), pause(20))
	if err != nil || !r.ClockEntries[0].Paused || r.ClockEntries[0].EndTime == nil {
		t.Fatalf("pause = %v, %v", r, err)
	}
	if !f.Last(t).GetClockedOff().GetPaused() {
		t.Errorf("event = %v, want a pause", f.Last(t))
	}
	svctest.Refused(t, f.Service, f.clocks.PauseClock, pause(25), fault.Precondition, "CLOCK_NOT_OPEN")
	svctest.Refused(t, f.Service, f.clocks.ResumeClock, resume(19), fault.Precondition, "CLOCK_OVERLAP")
	on, err := f.clocks.ResumeClock(svctest.Ctx(t), resume(50))
	if err != nil || on.ClockEntries[0].Stage != top || !on.ClockEntries[0].StartTime.AsTime().Equal(at(50).AsTime()) {
		t.Fatalf("resume = %v, %v", on, err)
	}
	if _, err := f.clocks.PauseClock(svctest.Ctx(t), pause(60)); err != nil {
		t.Fatal(err)
	}
	f.finishAt(t, top, 60)
	svctest.Refused(t, f.Service, f.clocks.ResumeClock, resume(70), fault.Precondition, "STAGE_FINISHED")
	f.on(t, nell, stages["strip case"].Name, 70)
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 80)); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, f.Service, f.clocks.ResumeClock, resume(90), fault.Precondition, "NOT_PAUSED")
}

// Time that belongs to no piece is kept, written down and corrected like other time, and goes
// from and to a piece.
func TestServer_IndirectTime(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), indirectly(nell, "training", 0)); err != nil {
		t.Fatal(err)
	}
	says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, f.clockOn(nell, strip, 30), fault.Precondition, "CLOCK_OPEN"), "training", "switch")
	svctest.Refused(t, f.Service, f.clocks.ClockOn, indirectly(nell, "Training!", 30), fault.Invalid, "INVALID_FIELD")
	off, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 60))
	if err != nil || off.ClockEntry.Indirect != "training" || off.ClockEntry.Stage != "" {
		t.Fatalf("off = %v, %v", off, err)
	}
	record := &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "pick_up", StartTime: at(30), EndTime: at(90), Reason: "fetched the oak dresser"}
	says(t, svctest.Refused(t, f.Service, f.clocks.RecordClockEntry, record, fault.Precondition, "CLOCK_OVERLAP"), "training")
	record.StartTime, record.RequestId = at(60), svctest.NewID()
	fetched, err := f.clocks.RecordClockEntry(svctest.Ctx(t), record)
	if err != nil || fetched.ClockEntry.Indirect != "pick_up" {
		t.Fatalf("record = %v, %v", fetched, err)
	}
	moved, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), &workflowv1.CorrectClockEntryRequest{RequestId: svctest.NewID(), ClockEntry: fetched.ClockEntry.Name, Reason: "it was stripping",
		Replacement: &workflowv1.CorrectClockEntryRequest_Replacement{Stage: strip}})
	if err != nil || moved.ClockEntry.Stage != strip || moved.ClockEntry.Indirect != "" || moved.ClockEntry.PieceTag != 7 {
		t.Fatalf("moved = %v, %v", moved, err)
	}
	events := f.Events(t)
	from, to := events[len(events)-2], events[len(events)-1]
	if from.AggregateKind != "person" || from.GetClockEntryCorrected().GetAfter() != nil || to.AggregateKind != "piece" || to.GetClockEntryCorrected().GetBefore() != nil {
		t.Errorf("events = %v, %v: want it taken from the person and given to the piece", from, to)
	}
	back, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), &workflowv1.CorrectClockEntryRequest{RequestId: svctest.NewID(), ClockEntry: moved.ClockEntry.Name, Reason: "no, it was cleaning",
		Replacement: &workflowv1.CorrectClockEntryRequest_Replacement{Indirect: "cleaning"}})
	if err != nil || back.ClockEntry.Indirect != "cleaning" || back.ClockEntry.Stage != "" {
		t.Fatalf("back = %v, %v", back, err)
	}
}
