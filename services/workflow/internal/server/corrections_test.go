package server_test

import (
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func correct(entry, reason string) *workflowv1.CorrectClockEntryRequest {
	return &workflowv1.CorrectClockEntryRequest{RequestId: svctest.NewID(), ClockEntry: entry, Reason: reason}
}

func TestServer_CorrectClockEntry(t *testing.T) {
	t.Parallel()
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
	if old := resp.CorrectedEntries; len(old) != 1 || old[0].Name != e.Name || !old[0].EndTime.AsTime().Equal(at(60).AsTime()) || !old[0].Superseded {
		t.Errorf("corrected = %v, want what no longer counts", old)
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
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	e := f.works(t, nell, stages["strip top"].Name, 0, 60)
	resp, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), correct(e.Name, "never happened"))
	if err != nil || resp.ClockEntry != nil || len(resp.CorrectedEntries) != 1 || resp.CorrectedEntries[0].Name != e.Name {
		t.Fatalf("CorrectClockEntry = %v, %v, want only what no longer counts", resp, err)
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
	t.Parallel()
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
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell", "strip"), f.person(t, "Ira")
	_, stages := f.planned(t)
	first := f.works(t, nell, stages["strip top"].Name, 0, 60)
	second := f.works(t, nell, stages["strip top"].Name, 60, 90)
	refused := func(r *workflowv1.CorrectClockEntryRequest, kind fault.Kind, reason string) *fault.Fault {
		t.Helper()
		return svctest.Refused(t, f.Service, f.clocks.CorrectClockEntry, r, kind, reason)
	}
	change := func(entry string, r *workflowv1.CorrectClockEntryRequest_Replacement) *workflowv1.CorrectClockEntryRequest {
		c := correct(entry, "because")
		c.Replacement = r
		return c
	}
	type replacement = workflowv1.CorrectClockEntryRequest_Replacement
	says(t, refused(change(first.Name, &replacement{EndTime: at(75)}), fault.Precondition, "CLOCK_OVERLAP"),
		"strip (top)", "piece 7", "Mon 2 Mar 2026 10:00 EST", "Mon 2 Mar 2026 10:30 EST")
	says(t, refused(change(first.Name, &replacement{StartTime: at(-61)}), fault.Invalid, "TIME_BEFORE_INTAKE"), "Piece 7", "08:00 EST", "07:59 EST")
	refused(change(first.Name, &replacement{EndTime: at(0)}), fault.Invalid, "CLOCK_ENDS_BEFORE_START")
	refused(change(first.Name, &replacement{}), fault.Invalid, "CORRECTION_CHANGES_NOTHING")
	refused(change(first.Name, &replacement{Stage: id.Name("pieces", id.New(), "stages", id.New())}), fault.NotFound, "STAGE_NOT_FOUND")
	refused(correct(id.Name("clockEntries", id.New()), "because"), fault.NotFound, "CLOCK_ENTRY_NOT_FOUND")
	refused(correct(first.Name, ""), fault.Invalid, "INVALID_FIELD")
	if _, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), correct(second.Name, "never happened")); err != nil {
		t.Fatal(err)
	}
	says(t, refused(correct(second.Name, "again"), fault.Precondition, "CLOCK_SUPERSEDED"), "taken away")
	shorter, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), change(first.Name, &replacement{EndTime: at(50)}))
	if err != nil {
		t.Fatal(err)
	}
	says(t, refused(correct(first.Name, "again"), fault.Precondition, "CLOCK_SUPERSEDED"), "the one that replaced it")
	refused(change(shorter.ClockEntry.Name, &replacement{Stage: f.taken(t, at(10)).Name}), fault.Invalid, "TIME_BEFORE_INTAKE")
	f.finish(t, stages["strip top"].Name)
	sanding := f.works(t, ira, stages["sand top"].Name, 0, 10)
	refused(change(sanding.Name, &replacement{Stage: stages["strip top"].Name}), fault.Precondition, "SKILL_MISSING")
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(nell, stages["strip case"].Name, 100)); err != nil {
		t.Fatal(err)
	}
	entries := f.entries(t, nell)
	refused(correct(entries[len(entries)-1].Name, "because"), fault.Precondition, "CLOCK_STILL_OPEN")
}
