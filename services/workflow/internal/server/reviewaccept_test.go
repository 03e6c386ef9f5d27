package server_test

import (
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// What was sent by a wrong clock is shown by both clocks, and counts less the skew; not as it was
// sent.
func TestServer_SettleClockReview_LessSkew(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	r := sent(nell, "", 0, 30)
	r.Indirect, r.DeviceTime = "cleaning", timestamppb.New(time.Now().Add(-181*time.Second))
	review := f.send(t, r).ClockReview
	open := f.reviews(t, false)[0]
	near := func(got *timestamppb.Timestamp, minute int) bool {
		off := got.AsTime().Sub(at(minute).AsTime()) - 181*time.Second
		return off.Abs() < 30*time.Second
	}
	if !proto.Equal(open.Sent.StartTime, at(0)) || !proto.Equal(open.Sent.EndTime, at(30)) || !near(open.ShopStartTime, 0) || !near(open.ShopEndTime, 30) {
		t.Errorf("review = %v, want it three minutes later by the shop's clock", open)
	}
	says(t, svctest.Refused(t, f.Service, f.settler().SettleClockReview, accepted(review, false), fault.Precondition, "SETTLEMENT_UNFIT"), "minutes behind", "less that")
	less := accepted(review, false)
	less.GetAccept().LessSkew = true
	e := f.settle(t, less).ClockEntries[0]
	if !proto.Equal(e.StartTime, open.ShopStartTime) || !proto.Equal(e.EndTime, open.ShopEndTime) {
		t.Errorf("it counts from %v to %v, want as by the shop's clock", e.StartTime, e.EndTime)
	}
}

// What a right clock showed is shown once.
func TestServer_ListClockReviews_RightClock(t *testing.T) {
	t.Parallel()
	f := setup(t)
	odo := f.person(t, "Odo")
	_, stages := f.planned(t)
	f.send(t, sent(odo, stages["strip top"].Name, 0, 30))
	if r := f.reviews(t, false)[0]; r.ShopStartTime != nil || r.ShopEndTime != nil {
		t.Errorf("review = %v, want the times of the device alone", r)
	}
}

// Accepting what is so already changes nothing, and settles it.
func TestServer_SettleClockReview_IsSoAlready(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	_, others := f.planned(t)
	b := f.formed(t, stages["strip top"].Name, others["strip top"].Name)
	onIt := onBatch(nell, b.Name, 0)
	onIt.AcknowledgedCautions = f.cautions[stages["strip top"].Name]
	on, err := f.clocks.ClockOn(svctest.Ctx(t), onIt)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 40)); err != nil {
		t.Fatal(err)
	}
	counts := [][2]int{{0, 20}, {20, 40}}
	end := &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, ClockEntry: on.ClockEntry.Name, EndTime: at(30), Device: "phone", DeviceTime: timestamppb.Now()}
	ends := accepted(f.send(t, end).ClockReview, false)
	ends.GetAccept().EndTime = at(40)
	if got := f.settle(t, ends); len(got.ClockEntries) != 2 {
		t.Errorf("settled = %v, want the stretch", got)
	}
	whole := sent(nell, "", 0, 30)
	whole.Batch, whole.AcknowledgedCautions = b.Name, onIt.AcknowledgedCautions
	again := accepted(f.send(t, whole).ClockReview, false)
	again.GetAccept().EndTime = at(40)
	if got := f.settle(t, again); len(got.ClockEntries) != 2 || got.ClockEntries[0].Name != on.ClockEntry.Name {
		t.Errorf("settled = %v, want what is there", got)
	}
	sameTimes(t, "Nell", f.counts(t, nell), counts...)
	if all := f.entries(t, nell); len(all) != 2 {
		t.Errorf("entries = %v, want none replaced", all)
	}
}

// An end of what was taken away is not so already.
func TestServer_SettleClockReview_EndOfWhatIsGone(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	e := f.works(t, nell, stages["strip top"].Name, 0, 30)
	if _, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), correct(e.Name, "never happened")); err != nil {
		t.Fatal(err)
	}
	end := &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, ClockEntry: e.Name, EndTime: at(30), Device: "phone", DeviceTime: timestamppb.Now()}
	svctest.Refused(t, f.Service, f.settler().SettleClockReview, accepted(f.send(t, end).ClockReview, false), fault.Precondition, "CLOCK_SUPERSEDED")
}

// A clock cannot go on for who may not begin it; what they did until an end counts.
func TestServer_SettleClockReview_RunsOnUnskilled(t *testing.T) {
	t.Parallel()
	f := setup(t)
	una := f.person(t, "Una")
	_, stages := f.planned(t)
	review := f.send(t, sent(una, stages["strip top"].Name, 0, 0)).ClockReview
	says(t, svctest.Refused(t, f.Service, f.settler().SettleClockReview, accepted(review, false), fault.Precondition, "SKILL_MISSING"), "Una", "Or say when it ended")
	ended := accepted(review, false)
	ended.GetAccept().EndTime = at(45)
	f.settle(t, ended)
	sameTimes(t, "Una", f.counts(t, una), [2]int{0, 45})
}

// What counts of somebody who has left is cut and corrected as anybody's.
func TestServer_SettleClockReview_OfWhoHasLeft(t *testing.T) {
	t.Parallel()
	f := setup(t)
	una := f.person(t, "Una")
	f.alter(t, `UPDATE person SET active_to = '2026-03-01'`)
	cleaning := func(from, to int) *workflowv1.SendClockEntryRequest {
		r := sent(una, "", from, to)
		r.Indirect = "cleaning"
		return r
	}
	e := f.settle(t, accepted(f.send(t, cleaning(0, 60)).ClockReview, false)).ClockEntries[0]
	f.settle(t, accepted(f.send(t, cleaning(20, 40)).ClockReview, true))
	sameTimes(t, "cut", f.counts(t, una), [2]int{0, 20}, [2]int{20, 40}, [2]int{40, 60})
	var first string
	for _, c := range f.entries(t, una) {
		if c.Corrects == e.Name {
			first = c.Name
		}
	}
	shorter := correct(first, "until ten past")
	shorter.Replacement = &workflowv1.CorrectClockEntryRequest_Replacement{EndTime: at(10)}
	if _, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), shorter); err != nil {
		t.Errorf("correcting it = %v", err)
	}
}
