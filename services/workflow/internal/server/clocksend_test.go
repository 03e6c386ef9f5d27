package server_test

import (
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// sent is what Nell's phone kept of a stage; its clock is right.
func sent(person, stage string, from, to int) *workflowv1.SendClockEntryRequest {
	r := &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: person, Stage: stage, StartTime: at(from), Device: "Nell's phone", DeviceTime: timestamppb.Now()}
	if to > from {
		r.EndTime = at(to)
	}
	return r
}

// send sends it, for somebody who has read what the stage warns of unless it says something else.
func (f *floor) send(t testing.TB, r *workflowv1.SendClockEntryRequest) *workflowv1.SendClockEntryResponse {
	t.Helper()
	if r.AcknowledgedCautions == nil {
		r.AcknowledgedCautions = f.cautions[r.Stage]
	}
	out, err := f.clocks.SendClockEntry(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	if (len(out.ClockEntries) == 0) == (out.ClockReview == "") {
		t.Fatalf("sent = %v: want it to count, or to be set aside", out)
	}
	return out
}

func (f *floor) reviews(t testing.TB, settled bool) []*workflowv1.ClockReview {
	t.Helper()
	r, err := workflowv1.NewClockReviewServiceClient(f.Conn).ListClockReviews(t.Context(), &workflowv1.ListClockReviewsRequest{IncludeSettled: settled})
	if err != nil {
		t.Fatal(err)
	}
	return r.ClockReviews
}

// Whatever order they come in, entries that fit count, with the device and its skew noted;
// sent again, they count once.
func TestServer_SendClockEntry_AnyOrder(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	later, sooner := sent(nell, strip, 60, 90), sent(nell, strip, 0, 60)
	sooner.DeviceTime = timestamppb.New(time.Now().Add(45 * time.Second))
	f.send(t, later)
	got := f.send(t, sooner)
	if e := got.ClockEntries[0]; e.Device != "Nell's phone" || e.DeviceSkew.AsDuration() < 40*time.Second || e.DeviceSkew.AsDuration() > 50*time.Second || e.Reason != "" {
		t.Errorf("entry = %v, want its device and a skew of 45 s noted", e)
	}
	if again := f.send(t, sooner); again.ClockEntries[0].Name != got.ClockEntries[0].Name {
		t.Errorf("sent again = %v, want the same", again)
	}
	running := f.send(t, sent(nell, strip, 95, 0))
	if running.ClockEntries[0].EndTime != nil {
		t.Errorf("entry = %v, want it to run", running)
	}
	if entries := f.entries(t, nell); len(entries) != 3 {
		t.Errorf("%d entries, want 3", len(entries))
	}
	if open := f.reviews(t, true); len(open) != 0 {
		t.Errorf("reviews = %v, want none", open)
	}
}

// What contradicts another entry counts nowhere, and both versions wait for the lead.
func TestServer_SendClockEntry_SetAside(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell", "strip"), f.person(t, "Odo")
	_, stages := f.planned(t)
	strip, side := stages["strip top"].Name, stages["strip case"].Name
	there := f.works(t, nell, strip, 0, 60)
	cases := []struct {
		r    *workflowv1.SendClockEntryRequest
		kind workflowv1.ClockReview_Kind
		says string
	}{
		{sent(nell, side, 30, 90), workflowv1.ClockReview_KIND_OVERLAP, "overlaps"},
		{sent(odo, strip, 0, 30), workflowv1.ClockReview_KIND_REFUSED, "skill"},
		{sent(nell, id.Name("pieces", id.New(), "stages", id.New()), 100, 110), workflowv1.ClockReview_KIND_REFUSED, "no such stage"},
		{sent(nell, side, -600, -300), workflowv1.ClockReview_KIND_REFUSED, "only came in"},
		{sent(nell, stages["sand top"].Name, 200, 0), workflowv1.ClockReview_KIND_REFUSED, "has to wait"},
		{sent(nell, side, 1000, 4000), workflowv1.ClockReview_KIND_REFUSED, "without a break"},
	}
	skewed := sent(nell, side, 120, 130)
	skewed.DeviceTime = timestamppb.New(time.Now().Add(-7 * time.Minute))
	cases = append(cases, struct {
		r    *workflowv1.SendClockEntryRequest
		kind workflowv1.ClockReview_Kind
		says string
	}{skewed, workflowv1.ClockReview_KIND_SKEW, "behind the shop's"})
	for i, c := range cases {
		got := f.send(t, c.r)
		open := f.reviews(t, false)
		last := open[len(open)-1]
		if len(open) != i+1 || last.Name != got.ClockReview || last.Kind != c.kind || !strings.Contains(last.Reason, c.says) || last.Sent.Name != "" ||
			!last.Sent.StartTime.AsTime().Equal(c.r.StartTime.AsTime()) || last.Sent.Stage != c.r.Stage {
			t.Errorf("review %d = %v, want %v that says %q", i, last, c.kind, c.says)
		}
	}
	if first := f.reviews(t, false)[0]; len(first.ClockEntries) != 1 || first.ClockEntries[0].Name != there.Name {
		t.Errorf("review = %v, want the entry it contradicts", first)
	}
	if entries := f.entries(t, nell); len(entries) != 1 {
		t.Errorf("%d entries of Nell count, want 1", len(entries))
	}
	if e := f.Last(t); e.GetClockEntrySetAside().GetKind() != "skew" || e.AggregateKind != "person" {
		t.Errorf("event = %v", e)
	}
}

func TestServer_SendClockEntry_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell", "strip"), f.person(t, "Odo")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	mine := f.works(t, nell, strip, 0, 60)
	refused := func(change func(*workflowv1.SendClockEntryRequest), kind fault.Kind, reason string) {
		t.Helper()
		r := sent(nell, strip, 100, 110)
		change(r)
		svctest.Refused(t, f.Service, f.clocks.SendClockEntry, r, kind, reason)
	}
	refused(func(r *workflowv1.SendClockEntryRequest) { r.Person = id.Name("people", id.New()) }, fault.NotFound, "PERSON_NOT_FOUND")
	refused(func(r *workflowv1.SendClockEntryRequest) { r.Stage = "" }, fault.Invalid, "TARGET_MISSING")
	refused(func(r *workflowv1.SendClockEntryRequest) { r.StartTime = nil }, fault.Invalid, "TIME_MISSING")
	refused(func(r *workflowv1.SendClockEntryRequest) { r.Device = "" }, fault.Invalid, "INVALID_FIELD")
	refused(func(r *workflowv1.SendClockEntryRequest) { r.DeviceTime = nil }, fault.Invalid, "INVALID_FIELD")
	refused(func(r *workflowv1.SendClockEntryRequest) {
		r.Person, r.Stage, r.ClockEntry, r.StartTime = odo, "", mine.Name, nil
	}, fault.Precondition, "CLOCK_OF_ANOTHER")
	refused(func(r *workflowv1.SendClockEntryRequest) {
		r.Stage, r.ClockEntry, r.StartTime = "", id.Name("clockEntries", id.New()), nil
	}, fault.NotFound, "CLOCK_ENTRY_NOT_FOUND")
}

// A clock that was begun online is ended by the phone later; ended otherwise in the meantime,
// both ends wait for the lead.
func TestServer_SendClockEntry_EndsOnline(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	ending := func(entry string, minute int) *workflowv1.SendClockEntryRequest {
		return &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, ClockEntry: entry, EndTime: at(minute), Device: "phone", DeviceTime: timestamppb.Now()}
	}
	first := f.on(t, nell, strip, 0)
	if got := f.send(t, ending(first.Name, 30)); got.ClockEntries[0].Name != first.Name || !got.ClockEntries[0].EndTime.AsTime().Equal(at(30).AsTime()) || got.ClockEntries[0].Device != "phone" {
		t.Errorf("ended = %v", got)
	}
	if got := f.send(t, ending(first.Name, 30)); len(got.ClockEntries) != 1 {
		t.Errorf("the same end again = %v", got)
	}
	got := f.send(t, ending(first.Name, 40))
	if r := f.reviews(t, false); len(r) != 1 || r[0].Name != got.ClockReview || r[0].Kind != workflowv1.ClockReview_KIND_OVERLAP || !strings.Contains(r[0].Reason, "ended otherwise") {
		t.Errorf("reviews = %v", r)
	}
}

// A phone ends a batch that was begun online; set up anew it sends the end once more, which is the
// same one and contradicts nothing.
func TestServer_SendClockEntry_EndsABatch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	begun := f.onBatch(t, nell, f.formed(t, f.dewaxing(t)...).Name, 0)
	ending := func() *workflowv1.SendClockEntryRequest {
		return &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, ClockEntry: begun[1].Name, EndTime: at(60), Device: "phone", DeviceTime: timestamppb.Now()}
	}
	wantLaid(t, f.send(t, ending()).ClockEntries, at(0).AsTime(), at(60).AsTime(), each(6, 10*time.Minute)...)
	wantLaid(t, f.send(t, ending()).ClockEntries, at(0).AsTime(), at(60).AsTime(), each(6, 10*time.Minute)...)
}
