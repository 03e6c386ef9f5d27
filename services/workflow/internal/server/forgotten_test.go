package server_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// A clock that runs long after its shift is put to the lead once, and never ended by itself;
// a service that starts anew finds it too.
func TestServer_ForgottenClock(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell", "strip"), f.person(t, "Odo", "strip")
	_, stages := f.planned(t)
	on := f.on(t, nell, stages["strip top"].Name, 0)
	f.on(t, odo, stages["strip case"].Name, 0)
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(odo, 60)); err != nil {
		t.Fatal(err)
	}
	f.Stop()
	f = setupWith(t, svctest.Options{URL: f.URL, ShiftEnd: lookOften})
	open := f.awaitReviews(t, 1)
	if r := open[0]; r.Kind != workflowv1.ClockReview_KIND_FORGOTTEN || len(r.ClockEntries) != 1 || r.ClockEntries[0].Name != on.Name || r.ClockEntries[0].EndTime != nil || r.ShiftEndTime == nil {
		t.Errorf("review = %v", r)
	}
	if e := f.Last(t); e.GetClockForgotten().GetSpan().GetPersonName() != "Nell" || e.AggregateKind != "person" {
		t.Errorf("event = %v", e)
	}
	svctest.Refused(t, f.Service, f.settler().SettleClockReview, accepted(open[0].Name, false), fault.Invalid, "SETTLEMENT_UNFIT")
	svctest.Refused(t, f.Service, f.settler().SettleClockReview, clockedOff(open[0].Name, -5), fault.Invalid, "CLOCK_ENDS_BEFORE_START")
	f.settle(t, clockedOff(open[0].Name, 75))
	sameTimes(t, "forgotten", f.counts(t, nell), [2]int{0, 75})
	settled := 0
	for _, e := range f.Events(t) {
		if e.GetClockReviewSettled() != nil {
			settled++
		}
	}
	if settled != 1 {
		t.Errorf("%d events of the settlement, want 1", settled)
	}
}

// awaitReviews waits until the keeper, which runs beside the test, has raised so many.
func (f *floor) awaitReviews(t testing.TB, n int) []*workflowv1.ClockReview {
	t.Helper()
	deadline := time.Now().Add(20 * time.Second)
	for {
		if open := f.reviews(t, false); len(open) == n {
			return open
		}
		if time.Now().After(deadline) {
			t.Fatalf("there are %d reviews, want %d", len(f.reviews(t, false)), n)
		}
		time.Sleep(10 * time.Millisecond) // polling another goroutine's work
	}
}

// A person whose clock was forgotten and who ends it in time has settled it; who ends it long
// after the shift leaves it with the lead, who may say that the work ended sooner.
func TestServer_ForgottenClock_ClockedOff(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell", "strip"), f.person(t, "Odo", "strip")
	_, stages := f.planned(t)
	f.on(t, nell, stages["strip top"].Name, 0)
	f.on(t, odo, stages["strip case"].Name, 0)
	f.Stop()
	f = setupWith(t, svctest.Options{URL: f.URL, ShiftEnd: lookOften})
	f.awaitReviews(t, 2)
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 30)); err != nil {
		t.Fatal(err)
	}
	events := f.Events(t)
	if e := events[len(events)-2].GetClockReviewSettled(); e.GetSettlement() != "clocked off" {
		t.Errorf("event = %v, want the review settled", events[len(events)-2])
	}
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(odo, 16*60)); err != nil {
		t.Fatal(err)
	}
	open := f.reviews(t, false)
	if len(open) != 1 || open[0].PersonName != "Odo" || open[0].ClockEntries[0].EndTime == nil {
		t.Fatalf("reviews = %v, want Odo's to wait", open)
	}
	f.settle(t, clockedOff(open[0].Name, 8*60))
	sameTimes(t, "Odo", f.counts(t, odo), [2]int{0, 8 * 60})
}

// A running clock that the lead finds right is not raised again at once, but is in two hours.
func TestServer_ForgottenClock_Dismissed(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	f.on(t, nell, stages["strip top"].Name, 0)
	later := func(by time.Duration) *floor {
		f.Stop()
		return setupWith(t, svctest.Options{URL: f.URL, ShiftEnd: lookOften, Now: func() time.Time { return time.Now().Add(by) }})
	}
	f = later(0)
	f.settle(t, dismissed(f.awaitReviews(t, 1)[0].Name))
	f = later(3 * time.Hour)
	f.awaitReviews(t, 1)
	if all := f.reviews(t, true); len(all) != 2 {
		t.Errorf("%d reviews, want the dismissed one and another", len(all))
	}
}

// A clock that ran on at a batch is one clock, which the lead ends as any other. Ended by its person
// long after the shift it waits for the lead, though the first of its stages had its share in time.
func TestServer_ForgottenClock_OfABatch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell"), f.person(t, "Odo")
	fronts := f.dewaxing(t)
	first, second := f.formedAs(t, "first fronts", fronts[:3]...), f.formedAs(t, "second fronts", fronts[3:]...)
	f.onBatch(t, nell, first.Name, 0)
	f.onBatch(t, odo, second.Name, 1)
	f.Stop()
	f = setupWith(t, svctest.Options{URL: f.URL, ShiftEnd: lookOften})
	open := f.awaitReviews(t, 2)
	if !strings.Contains(open[0].Reason, `Nell is on the clock at the batch "first fronts"`) || !strings.Contains(open[0].Reason, "nobody said when Nell works") {
		t.Errorf("the lead reads %q", open[0].Reason)
	}
	ended := f.settle(t, clockedOff(open[0].Name, 60))
	wantLaid(t, ended.ClockEntries, at(0).AsTime(), at(60).AsTime(), each(3, 20*time.Minute)...)

	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(odo, 1+15*60)); err != nil { // the shares end after 5, 10 and 15 hours
		t.Fatal(err)
	}
	left := f.reviews(t, false)
	if len(left) != 1 || left[0].PersonName != "Odo" {
		t.Fatalf("reviews = %v, want Odo's to wait", left)
	}
	f.settle(t, clockedOff(left[0].Name, 31))
	wantLaid(t, slices.DeleteFunc(f.entries(t, odo), (*workflowv1.ClockEntry).GetSuperseded), at(1).AsTime(), at(31).AsTime(), each(3, 10*time.Minute)...)
}

// A clock that cannot be raised does not hold up those that were begun after it.
func TestServer_ForgottenClock_BesideABadOne(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell", "strip"), f.person(t, "Odo", "strip")
	_, stages := f.planned(t)
	f.send(t, &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "cleaning", StartTime: at(-20), EndTime: at(-10), Device: "phone", DeviceTime: timestamppb.Now()})
	f.on(t, nell, stages["strip top"].Name, 0)
	f.on(t, odo, stages["strip case"].Name, 1)
	f.alter(t, `UPDATE person SET version = 1 WHERE display_name = 'Nell'`) // what is told of her next is there already
	f.Stop()
	f = setupWith(t, svctest.Options{URL: f.URL, ShiftEnd: lookOften})
	if r := f.awaitReviews(t, 1)[0]; r.PersonName != "Odo" {
		t.Errorf("review = %v, want Odo's", r)
	}
}
