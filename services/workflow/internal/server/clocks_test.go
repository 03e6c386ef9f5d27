package server_test

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestServer_ClockOnAndOff(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	e := f.works(t, nell, stages["strip top"].Name, 0, 45)

	want := &workflowv1.ClockEntry{PieceTag: 7, Person: nell, PersonName: "Nell", Stage: stages["strip top"].Name, StageKind: "strip",
		StartTime: at(0), EndTime: at(45), Pass: 1, Actor: svctest.Actor}
	if diff := cmp.Diff(want, e, protocmp.Transform(), protocmp.IgnoreFields(&workflowv1.ClockEntry{}, "name")); diff != "" {
		t.Errorf("entry (-want +got):\n%s", diff)
	}
	events := f.Events(t)
	on, off := events[len(events)-2], events[len(events)-1]
	wantSpan(t, off.GetClockedOff().GetSpan(), e)
	if on.GetClockedOn().GetSpan().GetEnd() != nil || off.GetClockedOff().GetSpan().GetEntryId() != on.GetClockedOn().GetSpan().GetEntryId() {
		t.Errorf("events = %v, %v", on, off)
	}
	if on.Version+1 != off.Version || off.AggregateKind != "piece" || "pieces/"+off.PieceId != stages["strip top"].Name[:43] {
		t.Errorf("events are versions %d and %d of %s %s", on.Version, off.Version, off.AggregateKind, off.PieceId)
	}
}

// wantSpan checks that an event tells of a clock entry on the top's strip stage.
func wantSpan(t *testing.T, got *eventsv1.ClockSpan, e *workflowv1.ClockEntry) {
	t.Helper()
	want := &eventsv1.ClockSpan{EntryId: e.Name[len("clockEntries/"):], PersonId: e.Person[len("people/"):], PersonName: e.PersonName,
		StageId: e.Stage[len(e.Stage)-36:], StageKind: "strip", StageKey: "strip", PartLabel: "top", Pass: e.Pass, Start: e.StartTime, End: e.EndTime}
	if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
		t.Errorf("span in the event (-want +got):\n%s", diff)
	}
}

func TestServer_ClockOn_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell", "strip"), f.person(t, "Ira")
	_, stages := f.planned(t)
	strip, sand := stages["strip top"].Name, stages["sand top"].Name
	f.works(t, nell, strip, 0, 60)

	refused := func(r *workflowv1.ClockOnRequest, kind fault.Kind, reason string) *fault.Fault {
		t.Helper()
		return svctest.Refused(t, f.Service, f.clocks.ClockOn, r, kind, reason)
	}
	says(t, refused(f.clockOn(nell, strip, 30), fault.Precondition, "CLOCK_OVERLAP"),
		"Nell", "strip (top)", "piece 7", "Mon 2 Mar 2026 09:00 EST", "Mon 2 Mar 2026 10:00 EST", "is over")
	says(t, refused(f.clockOn(nell, strip, -61), fault.Invalid, "TIME_BEFORE_INTAKE"), "Piece 7", "Mon 2 Mar 2026 08:00 EST", "Mon 2 Mar 2026 07:59 EST")
	refused(f.clockOn(ira, strip, 60), fault.Precondition, "SKILL_MISSING")
	refused(f.clockOn(ira, sand, 60), fault.Precondition, "STAGE_NOT_READY")
	refused(f.clockOn(id.Name("people", id.New()), strip, 60), fault.NotFound, "PERSON_NOT_FOUND")
	refused(f.clockOn(nell, id.Name("pieces", id.New(), "stages", id.New()), 60), fault.NotFound, "STAGE_NOT_FOUND")
	refused(f.clockOn(nell, "stages/7", 60), fault.Invalid, "INVALID_NAME")
	refused(f.clockOn("Nell", strip, 60), fault.Invalid, "INVALID_NAME")
	future := f.clockOn(nell, strip, 60)
	future.StartTime = timestamppb.New(time.Now().Add(3 * time.Minute))
	refused(future, fault.Invalid, "TIME_IN_FUTURE")

	if _, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(nell, strip, 60)); err != nil {
		t.Fatal(err)
	}
	refused(f.clockOn(nell, stages["strip case"].Name, 90), fault.Precondition, "CLOCK_OPEN")
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 120)); err != nil {
		t.Fatal(err)
	}
	f.finish(t, strip)
	refused(f.clockOn(nell, strip, 120), fault.Precondition, "STAGE_FINISHED")

	assign := &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: sand, Person: ira}
	if _, err := f.stages.AssignStage(svctest.Ctx(t), assign); err != nil {
		t.Fatal(err)
	}
	refused(f.clockOn(nell, sand, 120), fault.Precondition, "STAGE_OF_ANOTHER")
}

// A piece that comes in now is planned and worked on now, to the millisecond.
func TestServer_ClockOn_JustTakenIn(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	f.planned(t)
	in := timestamppb.New(time.Now().Truncate(time.Millisecond))
	stage := f.taken(t, in)
	now := f.clockOn(nell, stage.Name, 0)
	now.StartTime = in
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), now); err != nil {
		t.Errorf("ClockOn = %v", err)
	}
}

// Work counts for the pass in which it was done, in whatever order it is written down.
func TestServer_PassByTime(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	first := f.works(t, nell, strip, 0, 60)
	f.finishAt(t, strip, 60)
	f.sendBackAt(t, strip, 100)
	if e := f.works(t, nell, strip, 70, 90); e.Pass != 1 {
		t.Errorf("clocked on at a time before the send-back: pass %d, want 1", e.Pass)
	}
	if e := f.works(t, nell, strip, 100, 110); e.Pass != 2 {
		t.Errorf("clocked on when it was sent back: pass %d, want 2", e.Pass)
	}
	pass := func(from, to int) int32 {
		t.Helper()
		r, err := f.clocks.RecordClockEntry(svctest.Ctx(t), record(nell, strip, from, to))
		if err != nil {
			t.Fatal(err)
		}
		wantSpan(t, f.Last(t).GetClockEntryCorrected().GetAfter(), r.ClockEntry)
		return r.ClockEntry.Pass
	}
	if before, after := pass(60, 70), pass(120, 130); before != 1 || after != 2 {
		t.Errorf("recorded before and after the send-back: passes %d and %d, want 1 and 2", before, after)
	}
	c := correct(first.Name, "it was in the afternoon")
	c.Replacement = &workflowv1.CorrectClockEntryRequest_Replacement{StartTime: at(200), EndTime: at(260)}
	r, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), c)
	if err != nil || r.ClockEntry.Pass != 2 {
		t.Fatalf("corrected to after the send-back = %v, %v, want pass 2", r, err)
	}
	event := f.Last(t).GetClockEntryCorrected()
	wantSpan(t, event.GetBefore(), first)
	wantSpan(t, event.GetAfter(), r.ClockEntry)
}

// A stage named under a piece that is not its own is no stage.
func TestServer_ClockOn_StageOfAnotherPiece(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	other := f.intake.add("seat")
	wrong := other.Name + stages["strip top"].Name[43:]
	svctest.Refused(t, f.Service, f.clocks.ClockOn, f.clockOn(nell, wrong, 0), fault.NotFound, "STAGE_NOT_FOUND")
}

func TestServer_ClockOff_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	svctest.Refused(t, f.Service, f.clocks.ClockOff, clockOff(nell, 10), fault.Precondition, "CLOCK_NOT_OPEN")
	svctest.Refused(t, f.Service, f.clocks.ClockOff, clockOff(id.Name("people", id.New()), 10), fault.NotFound, "PERSON_NOT_FOUND")
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(nell, stages["strip top"].Name, 30)); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, f.Service, f.clocks.ClockOff, clockOff(nell, 30), fault.Invalid, "CLOCK_ENDS_BEFORE_START")
	forgotten := svctest.Refused(t, f.Service, f.clocks.ClockOff, clockOff(nell, 30+25*60), fault.Invalid, "CLOCK_TOO_LONG")
	says(t, forgotten, "Mon 2 Mar 2026 09:30 EST", "25:00", "24:00")
}

// One pair of hands: of 32 clock-ons of one worker at once exactly one wins, whichever
// stage of whichever piece they name, and no row of the others stays.
func TestServer_ClockOn_OneOfManyAtOnceWins(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	var names []string
	for range 4 {
		_, stages := f.planned(t)
		names = append(names, stages["strip top"].Name, stages["strip case"].Name)
	}
	events := len(f.Events(t))
	var won atomic.Int32
	var all sync.WaitGroup
	begin := make(chan struct{})
	for i := range 32 {
		all.Go(func() {
			<-begin
			_, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(nell, names[i%len(names)], i%5))
			switch fault.Reason(err) {
			case "":
				won.Add(1)
			case "CLOCK_OPEN", "CLOCK_OVERLAP":
			default:
				t.Errorf("ClockOn = %v", err)
			}
		})
	}
	close(begin)
	all.Wait()
	if won.Load() != 1 {
		t.Errorf("%d clock-ons won, want 1", won.Load())
	}
	if n := len(f.entries(t, nell)); n != 1 {
		t.Errorf("%d entries, want 1", n)
	}
	if n := len(f.Events(t)) - events; n != 1 {
		t.Errorf("%d events, want 1", n)
	}
}

// The same command from 32 callers at once is one command, and all get one answer.
func TestServer_ClockOn_OneRequestManyTimes(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	r := f.clockOn(nell, stages["strip top"].Name, 0)
	answers := make([]*workflowv1.ClockOnResponse, 32)
	var all sync.WaitGroup
	for i := range answers {
		all.Go(func() {
			var err error
			if answers[i], err = f.clocks.ClockOn(svctest.Ctx(t), r); err != nil {
				t.Errorf("ClockOn: %v", err)
			}
		})
	}
	all.Wait()
	for _, a := range answers {
		if diff := cmp.Diff(answers[0], a, protocmp.Transform()); diff != "" {
			t.Fatalf("answers differ:\n%s", diff)
		}
	}
	r.Stage = stages["strip case"].Name
	svctest.Refused(t, f.Service, f.clocks.ClockOn, r, fault.Invalid, "REQUEST_ID_REUSED")
}

func record(person, stage string, from, to int) *workflowv1.RecordClockEntryRequest {
	return &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: person, Stage: stage, StartTime: at(from), EndTime: at(to), Reason: "nobody clocked it"}
}

// Work that nobody clocked can be written down later, also between other entries and on a
// stage that is finished since.
func TestServer_RecordClockEntry(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell", "strip"), f.person(t, "Ira")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	f.works(t, nell, strip, 60, 90)
	f.finish(t, strip)
	r, err := f.clocks.RecordClockEntry(svctest.Ctx(t), record(nell, strip, 0, 60))
	if err != nil {
		t.Fatal(err)
	}
	if e := r.ClockEntry; e.Reason == "" || e.Actor != svctest.Actor || !e.EndTime.AsTime().Equal(at(60).AsTime()) || e.Pass != 1 {
		t.Errorf("entry = %v", e)
	}
	if e := f.Last(t).GetClockEntryCorrected(); e.GetBefore() != nil || e.GetAfter().GetEntryId() == "" {
		t.Errorf("event = %v", e)
	}
	refused := func(r *workflowv1.RecordClockEntryRequest, kind fault.Kind, reason string) *fault.Fault {
		t.Helper()
		return svctest.Refused(t, f.Service, f.clocks.RecordClockEntry, r, kind, reason)
	}
	says(t, refused(record(nell, strip, 30, 45), fault.Precondition, "CLOCK_OVERLAP"), "strip (top)", "09:00 EST", "10:00 EST")
	refused(record(nell, strip, -61, -30), fault.Invalid, "TIME_BEFORE_INTAKE")
	refused(record(nell, strip, 200, 100), fault.Invalid, "CLOCK_ENDS_BEFORE_START")
	refused(record(nell, strip, 100, 100+25*60), fault.Invalid, "CLOCK_TOO_LONG")
	refused(record(ira, strip, 100, 110), fault.Precondition, "SKILL_MISSING")
	refused(record(nell, id.Name("pieces", id.New(), "stages", id.New()), 100, 110), fault.NotFound, "STAGE_NOT_FOUND")
	silent := record(nell, strip, 100, 110)
	silent.Reason = " "
	refused(silent, fault.Invalid, "INVALID_FIELD")
}

// taken plans a piece that came in at another time than the others, and gives its first stage.
func (f *floor) taken(t *testing.T, in *timestamppb.Timestamp) *workflowv1.Stage {
	t.Helper()
	p := f.intake.add("seat")
	p.TakenInTime = in
	r, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/painted"})
	if err != nil {
		t.Fatal(err)
	}
	f.free(t, p.Name)
	f.know(r.Stages)
	return r.Stages[0]
}

func TestServer_ListClockEntries_Pages(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	piece, stages := f.planned(t)
	for i := range 5 {
		f.works(t, nell, stages["strip top"].Name, i*10, i*10+10)
	}
	r := &workflowv1.ListClockEntriesRequest{Piece: piece, PageSize: 2}
	var starts []time.Time
	for {
		resp, err := f.clocks.ListClockEntries(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range resp.ClockEntries {
			starts = append(starts, e.StartTime.AsTime())
		}
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			break
		}
	}
	for i, start := range starts {
		if !start.Equal(at(i * 10).AsTime()) {
			t.Errorf("entry %d starts at %v", i, start)
		}
	}
	if len(starts) != 5 {
		t.Errorf("%d entries, want 5", len(starts))
	}
}
