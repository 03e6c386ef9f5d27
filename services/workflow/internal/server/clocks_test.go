package server_test

import (
	"strings"
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
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestServer_ClockOnAndOff(t *testing.T) {
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
	if on.GetClockedOn().GetSpan().GetEnd() != nil || off.GetClockedOff().GetSpan().GetEntryId() != on.GetClockedOn().GetSpan().GetEntryId() {
		t.Errorf("events = %v, %v", on, off)
	}
	if on.Version+1 != off.Version || off.AggregateKind != "piece" || "pieces/"+off.PieceId != stages["strip top"].Name[:43] {
		t.Errorf("events are versions %d and %d of %s %s", on.Version, off.Version, off.AggregateKind, off.PieceId)
	}
}

func TestServer_ClockOn_Refuses(t *testing.T) {
	f := setup(t)
	nell, ira := f.person(t, "Nell", "strip"), f.person(t, "Ira")
	_, stages := f.planned(t)
	strip, sand := stages["strip top"].Name, stages["sand top"].Name
	f.works(t, nell, strip, 0, 60)

	refused := func(r *workflowv1.ClockOnRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, f.Service, f.clocks.ClockOn, r, kind, reason)
	}
	refused(clockOn(nell, strip, 30), fault.Precondition, "CLOCK_OVERLAP")
	refused(clockOn(ira, strip, 60), fault.Precondition, "SKILL_MISSING")
	refused(clockOn(ira, sand, 60), fault.Precondition, "STAGE_NOT_READY")
	refused(clockOn(id.Name("people", id.New()), strip, 60), fault.NotFound, "PERSON_NOT_FOUND")
	refused(clockOn(nell, id.Name("pieces", id.New(), "stages", id.New()), 60), fault.NotFound, "STAGE_NOT_FOUND")
	refused(clockOn(nell, "stages/7", 60), fault.Invalid, "INVALID_NAME")
	refused(clockOn("Nell", strip, 60), fault.Invalid, "INVALID_NAME")
	future := clockOn(nell, strip, 60)
	future.StartTime = timestamppb.New(time.Now().Add(3 * time.Minute))
	refused(future, fault.Invalid, "TIME_IN_FUTURE")

	if _, err := f.clocks.ClockOn(svctest.Ctx(t), clockOn(nell, strip, 60)); err != nil {
		t.Fatal(err)
	}
	refused(clockOn(nell, stages["strip case"].Name, 90), fault.Precondition, "CLOCK_OPEN")
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 120)); err != nil {
		t.Fatal(err)
	}
	f.finish(t, strip)
	refused(clockOn(nell, strip, 120), fault.Precondition, "STAGE_FINISHED")

	assign := &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: sand, Person: ira}
	if _, err := f.stages.AssignStage(svctest.Ctx(t), assign); err != nil {
		t.Fatal(err)
	}
	refused(clockOn(nell, sand, 120), fault.Precondition, "STAGE_OF_ANOTHER")
}

// A stage named under a piece that is not its own is no stage.
func TestServer_ClockOn_StageOfAnotherPiece(t *testing.T) {
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	other := f.intake.add("seat")
	wrong := other.Name + stages["strip top"].Name[43:]
	svctest.Refused(t, f.Service, f.clocks.ClockOn, clockOn(nell, wrong, 0), fault.NotFound, "STAGE_NOT_FOUND")
}

func TestServer_ClockOff_Refuses(t *testing.T) {
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	svctest.Refused(t, f.Service, f.clocks.ClockOff, clockOff(nell, 10), fault.Precondition, "CLOCK_NOT_OPEN")
	svctest.Refused(t, f.Service, f.clocks.ClockOff, clockOff(id.Name("people", id.New()), 10), fault.NotFound, "PERSON_NOT_FOUND")
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), clockOn(nell, stages["strip top"].Name, 30)); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, f.Service, f.clocks.ClockOff, clockOff(nell, 30), fault.Invalid, "CLOCK_ENDS_BEFORE_START")
	forgotten := svctest.Refused(t, f.Service, f.clocks.ClockOff, clockOff(nell, 30+25*60), fault.Invalid, "CLOCK_TOO_LONG")
	if !strings.Contains(forgotten.Text, "Mon 2 Mar 2026 09:30 EST") {
		t.Errorf("the refusal says %q, not when it began in the shop's own time", forgotten.Text)
	}
}

// One pair of hands: of 32 clock-ons of one worker at once exactly one wins, whichever
// stage of whichever piece they name, and no row of the others stays.
func TestServer_ClockOn_OneOfManyAtOnceWins(t *testing.T) {
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
			_, err := f.clocks.ClockOn(svctest.Ctx(t), clockOn(nell, names[i%len(names)], i%5))
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
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	r := clockOn(nell, stages["strip top"].Name, 0)
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

func correct(entry, reason string) *workflowv1.CorrectClockEntryRequest {
	return &workflowv1.CorrectClockEntryRequest{RequestId: svctest.NewID(), ClockEntry: entry, Reason: reason}
}

func TestServer_CorrectClockEntry(t *testing.T) {
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	e := f.works(t, nell, stages["strip top"].Name, 0, 60)
	r := correct(e.Name, "clocked off after lunch, not before")
	r.Replacement = &workflowv1.CorrectClockEntryRequest_Replacement{EndTime: at(30)}
	resp, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	n := resp.ClockEntry
	if n.Corrects != e.Name || n.Reason != r.Reason || n.Actor != svctest.Actor || !n.EndTime.AsTime().Equal(at(30).AsTime()) || n.Superseded {
		t.Errorf("correction = %v", n)
	}
	both := f.entries(t, nell)
	if len(both) != 2 || both[0].Superseded == both[1].Superseded {
		t.Errorf("entries = %v, want the old one superseded and the new one not", both)
	}
	event := f.Last(t).GetClockEntryCorrected()
	if event.GetBefore().GetEnd().AsTime() != at(60).AsTime() || event.GetAfter().GetEnd().AsTime() != at(30).AsTime() || event.GetReason() != r.Reason {
		t.Errorf("event = %v", event)
	}
	// The freed half hour can be worked elsewhere.
	f.works(t, nell, stages["strip case"].Name, 30, 60)
}

func TestServer_CorrectClockEntry_TakenAway(t *testing.T) {
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	e := f.works(t, nell, stages["strip top"].Name, 0, 60)
	resp, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), correct(e.Name, "never happened"))
	if err != nil || resp.ClockEntry != nil {
		t.Fatalf("CorrectClockEntry = %v, %v", resp, err)
	}
	event := f.Last(t).GetClockEntryCorrected()
	if event.GetBefore() == nil || event.GetAfter() != nil {
		t.Errorf("event = %v", event)
	}
	f.works(t, nell, stages["strip top"].Name, 0, 60)
}

// A move to another piece takes the time from the one piece and gives it to the other,
// each told in its own order.
func TestServer_CorrectClockEntry_ToAnotherPiece(t *testing.T) {
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	from, stages := f.planned(t)
	to, others := f.planned(t)
	e := f.works(t, nell, stages["strip top"].Name, 0, 60)
	r := correct(e.Name, "wrong piece")
	r.Replacement = &workflowv1.CorrectClockEntryRequest_Replacement{Stage: others["strip top"].Name}
	if _, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	events := f.Events(t)
	out, in := events[len(events)-2], events[len(events)-1]
	if "pieces/"+out.PieceId != from || out.GetClockEntryCorrected().GetBefore() == nil || out.GetClockEntryCorrected().GetAfter() != nil {
		t.Errorf("event of the piece it left = %v", out)
	}
	if "pieces/"+in.PieceId != to || in.GetClockEntryCorrected().GetBefore() != nil || in.GetClockEntryCorrected().GetAfter() == nil {
		t.Errorf("event of the piece it came to = %v", in)
	}
}

func TestServer_CorrectClockEntry_Refuses(t *testing.T) {
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	first := f.works(t, nell, stages["strip top"].Name, 0, 60)
	second := f.works(t, nell, stages["strip top"].Name, 60, 90)
	refused := func(r *workflowv1.CorrectClockEntryRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, f.Service, f.clocks.CorrectClockEntry, r, kind, reason)
	}
	change := func(entry string, r *workflowv1.CorrectClockEntryRequest_Replacement) *workflowv1.CorrectClockEntryRequest {
		c := correct(entry, "because")
		c.Replacement = r
		return c
	}
	type replacement = workflowv1.CorrectClockEntryRequest_Replacement
	refused(change(first.Name, &replacement{EndTime: at(75)}), fault.Precondition, "CLOCK_OVERLAP")
	refused(change(first.Name, &replacement{EndTime: at(0)}), fault.Invalid, "CLOCK_ENDS_BEFORE_START")
	refused(change(first.Name, &replacement{}), fault.Invalid, "CORRECTION_CHANGES_NOTHING")
	refused(change(first.Name, &replacement{Stage: id.Name("pieces", id.New(), "stages", id.New())}), fault.NotFound, "STAGE_NOT_FOUND")
	refused(correct(id.Name("clockEntries", id.New()), "because"), fault.NotFound, "CLOCK_ENTRY_NOT_FOUND")
	refused(correct(first.Name, ""), fault.Invalid, "INVALID_FIELD")
	if _, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), correct(second.Name, "never happened")); err != nil {
		t.Fatal(err)
	}
	refused(correct(second.Name, "again"), fault.Precondition, "CLOCK_SUPERSEDED")
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), clockOn(nell, stages["strip top"].Name, 100)); err != nil {
		t.Fatal(err)
	}
	entries := f.entries(t, nell)
	refused(correct(entries[len(entries)-1].Name, "because"), fault.Precondition, "CLOCK_STILL_OPEN")
}

func record(person, stage string, from, to int) *workflowv1.RecordClockEntryRequest {
	return &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: person, Stage: stage, StartTime: at(from), EndTime: at(to), Reason: "nobody clocked it"}
}

// Work that nobody clocked can be written down later, also between other entries and on a
// stage that is finished since.
func TestServer_RecordClockEntry(t *testing.T) {
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
	refused := func(r *workflowv1.RecordClockEntryRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, f.Service, f.clocks.RecordClockEntry, r, kind, reason)
	}
	refused(record(nell, strip, 30, 45), fault.Precondition, "CLOCK_OVERLAP")
	refused(record(nell, strip, 200, 100), fault.Invalid, "CLOCK_ENDS_BEFORE_START")
	refused(record(nell, strip, 100, 100+25*60), fault.Invalid, "CLOCK_TOO_LONG")
	refused(record(ira, strip, 100, 110), fault.Precondition, "SKILL_MISSING")
	refused(record(nell, id.Name("pieces", id.New(), "stages", id.New()), 100, 110), fault.NotFound, "STAGE_NOT_FOUND")
	silent := record(nell, strip, 100, 110)
	silent.Reason = " "
	refused(silent, fault.Invalid, "INVALID_FIELD")
}

func TestServer_ListClockEntries_Pages(t *testing.T) {
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
