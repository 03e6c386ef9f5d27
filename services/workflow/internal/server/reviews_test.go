package server_test

import (
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// lookOften is how often a service looks for forgotten clocks that is to find some.
const lookOften = 20 * time.Millisecond

type settle = workflowv1.SettleClockReviewRequest

func accepted(review string, cut bool) *settle {
	return &settle{RequestId: svctest.NewID(), ClockReview: review, Reason: "asked Nell",
		Settlement: &workflowv1.SettleClockReviewRequest_Accept_{Accept: &workflowv1.SettleClockReviewRequest_Accept{CutOthers: cut}}}
}

func dismissed(review string) *settle {
	return &settle{RequestId: svctest.NewID(), ClockReview: review, Reason: "asked Nell",
		Settlement: &workflowv1.SettleClockReviewRequest_Dismiss_{Dismiss: &workflowv1.SettleClockReviewRequest_Dismiss{}}}
}

func clockedOff(review string, minute int) *settle {
	return &settle{RequestId: svctest.NewID(), ClockReview: review, Reason: "asked Nell",
		Settlement: &workflowv1.SettleClockReviewRequest_ClockOff_{ClockOff: &workflowv1.SettleClockReviewRequest_ClockOff{EndTime: at(minute)}}}
}

func (f *floor) settle(t testing.TB, r *settle) *workflowv1.SettleClockReviewResponse {
	t.Helper()
	out, err := f.settler().SettleClockReview(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func (f *floor) settler() workflowv1.ClockReviewServiceClient {
	return workflowv1.NewClockReviewServiceClient(f.Conn)
}

// minuteOf is how many minutes after the morning an instant is.
func minuteOf(ts *timestamppb.Timestamp) int { return int(ts.AsTime().Sub(morning) / time.Minute) }

// counts are the entries of a person that count, as minutes from the morning.
func (f *floor) counts(t testing.TB, person string) (out [][2]int) {
	t.Helper()
	for _, e := range f.entries(t, person) {
		if !e.Superseded {
			out = append(out, [2]int{minuteOf(e.StartTime), minuteOf(e.EndTime)})
		}
	}
	return out
}

func sameTimes(t testing.TB, what string, got [][2]int, want ...[2]int) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: entries = %v, want %v", what, got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Fatalf("%s: entries = %v, want %v", what, got, want)
		}
	}
}

// The lead lets a sent entry count instead of what it contradicts, or cuts that off, or lets
// it be; the sent one is kept whatever is decided.
func TestServer_SettleClockReview_Overlap(t *testing.T) {
	t.Parallel()
	f := setup(t)
	_, stages := f.planned(t)
	strip, side := stages["strip top"].Name, stages["strip case"].Name
	for name, c := range map[string]struct {
		how  func(string) *settle
		want [][2]int
	}{
		"Instead":   {func(r string) *settle { return accepted(r, false) }, [][2]int{{20, 40}}},
		"CutOff":    {func(r string) *settle { return accepted(r, true) }, [][2]int{{0, 20}, {20, 40}, {40, 60}}},
		"Dismissed": {dismissed, [][2]int{{0, 60}}},
	} {
		t.Run(name, func(t *testing.T) {
			who := f.person(t, name, "strip")
			f.works(t, who, strip, 0, 60)
			review := f.send(t, sent(who, side, 20, 40)).ClockReview
			r := f.settle(t, c.how(review))
			sameTimes(t, name, f.counts(t, who), c.want...)
			if r.ClockReview.SettleTime == nil || r.ClockReview.SettledBy != svctest.Actor || r.ClockReview.SettleReason != "asked Nell" || r.ClockReview.Sent == nil {
				t.Errorf("review = %v", r.ClockReview)
			}
			svctest.Refused(t, f.Service, f.settler().SettleClockReview, dismissed(review), fault.Precondition, "REVIEW_SETTLED")
		})
	}
	if open := f.reviews(t, false); len(open) != 0 {
		t.Errorf("open reviews = %v, want none", open)
	}
	if all := f.reviews(t, true); len(all) != 3 {
		t.Errorf("%d reviews are kept, want 3", len(all))
	}
}

func TestServer_SettleClockReview_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip, side := stages["strip top"].Name, stages["strip case"].Name
	f.on(t, nell, strip, 0)
	review := f.send(t, sent(nell, side, 20, 40)).ClockReview
	refused := func(r *settle, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, f.Service, f.settler().SettleClockReview, r, kind, reason)
	}
	refused(accepted(review, false), fault.Precondition, "SETTLEMENT_UNFIT")
	refused(clockedOff(review, 30), fault.Invalid, "SETTLEMENT_UNFIT")
	refused(dismissed(id.Name("clockReviews", id.New())), fault.NotFound, "REVIEW_NOT_FOUND")
	refused(&settle{RequestId: svctest.NewID(), ClockReview: review, Reason: "x"}, fault.Invalid, "INVALID_FIELD")
	none := dismissed(review)
	none.Reason = ""
	refused(none, fault.Invalid, "INVALID_FIELD")
}

// What was sent by a clock that is wrong counts with the times that the lead gives it.
func TestServer_SettleClockReview_Skew(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	skewed := sent(nell, stages["strip top"].Name, 60, 90)
	skewed.DeviceTime = timestamppb.New(time.Now().Add(-30 * time.Minute))
	r := accepted(f.send(t, skewed).ClockReview, false)
	r.GetAccept().StartTime, r.GetAccept().EndTime = at(90), at(120)
	if got := f.settle(t, r); got.ClockEntries[0].Device != "Nell's phone" || got.ClockEntries[0].Reason != "asked Nell" {
		t.Errorf("entry = %v", got.ClockEntries[0])
	}
	sameTimes(t, "skew", f.counts(t, nell), [2]int{90, 120})
}

// Two ends of one clock: the lead takes the device's.
func TestServer_SettleClockReview_TwoEnds(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	e := f.works(t, nell, stages["strip top"].Name, 0, 30)
	review := f.send(t, &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, ClockEntry: e.Name, EndTime: at(45), Device: "phone", DeviceTime: timestamppb.Now()}).ClockReview
	f.settle(t, accepted(review, false))
	sameTimes(t, "two ends", f.counts(t, nell), [2]int{0, 45})
}

// The end of a clock that was begun online may come after the entry that followed it: then both
// count, and nothing is left to settle.
func TestServer_SendClockEntry_EndComesSecond(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	on := f.on(t, nell, stages["strip top"].Name, 0)
	if got := f.send(t, sent(nell, stages["strip case"].Name, 60, 120)); got.ClockReview == "" {
		t.Fatalf("sent = %v, want it set aside while the clock runs", got)
	}
	f.send(t, &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, ClockEntry: on.Name, EndTime: at(60), Device: "phone", DeviceTime: timestamppb.Now()})
	sameTimes(t, "both", f.counts(t, nell), [2]int{0, 60}, [2]int{60, 120})
	if open := f.reviews(t, false); len(open) != 0 {
		t.Errorf("reviews = %v, want none open", open)
	}
	if e := f.Last(t).GetClockReviewSettled(); e.GetSettlement() != "accepted" {
		t.Errorf("event = %v, want the review settled", f.Last(t))
	}
}

// A device that was set up anew sends what it kept once more: it is the entry that counts.
func TestServer_SendClockEntry_Twin(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	first := f.send(t, sent(nell, stages["strip top"].Name, 0, 60))
	if again := f.send(t, sent(nell, stages["strip top"].Name, 0, 60)); len(again.ClockEntries) != 1 || again.ClockEntries[0].Name != first.ClockEntries[0].Name {
		t.Errorf("sent once more = %v, want %v", again, first)
	}
	if all := f.reviews(t, true); len(all) != 0 {
		t.Errorf("reviews = %v, want none", all)
	}
}

// A device that is a little ahead is taken at our now, so that its person can go on.
func TestServer_SendClockEntry_LittleAhead(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	ahead := time.Now().Add(100 * time.Second)
	got := f.send(t, &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "cleaning", StartTime: timestamppb.New(ahead), Device: "phone", DeviceTime: timestamppb.New(ahead)})
	if start := got.ClockEntries[0].StartTime.AsTime(); start.After(time.Now()) {
		t.Errorf("it begins at %v, which has not come", start)
	}
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), &workflowv1.ClockOffRequest{RequestId: svctest.NewID(), Person: nell}); err != nil {
		t.Errorf("clock off = %v", err)
	}
}

// What the lead accepts was done, whoever did it; times that have not come are refused; a sent
// clock that runs takes nothing away that came after it.
func TestServer_SettleClockReview_Accepts(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, una := f.person(t, "Nell", "strip"), f.person(t, "Una")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	f.settle(t, accepted(f.send(t, sent(una, strip, 0, 60)).ClockReview, false)) // who has not the skill
	sameTimes(t, "Una", f.counts(t, una), [2]int{0, 60})

	skewed := sent(una, strip, 100, 110)
	ahead := time.Now().Add(3 * time.Hour)
	skewed.DeviceTime, skewed.StartTime, skewed.EndTime = timestamppb.New(ahead), timestamppb.New(ahead.Add(-time.Hour)), timestamppb.New(ahead)
	asSent := accepted(f.send(t, skewed).ClockReview, false)
	asSent.GetAccept().StartTime, asSent.GetAccept().EndTime = at(100), skewed.EndTime
	svctest.Refused(t, f.Service, f.settler().SettleClockReview, asSent, fault.Invalid, "TIME_IN_FUTURE")

	f.works(t, nell, strip, 60, 120)
	runs := f.send(t, sent(nell, stages["strip case"].Name, 30, 0)).ClockReview
	for _, cut := range []bool{false, true} {
		svctest.Refused(t, f.Service, f.settler().SettleClockReview, accepted(runs, cut), fault.Precondition, "SETTLEMENT_UNFIT")
	}
	lost := sent(nell, strip, 130, 140)
	lost.Station = "stations/attic"
	f.settle(t, accepted(f.send(t, lost).ClockReview, false)) // without the station
	sameTimes(t, "Nell", f.counts(t, nell), [2]int{60, 120}, [2]int{130, 140})
}

// A pick-up that a phone tells of is put into the work that is still going on.
func TestServer_SettleClockReview_CutsARunningClock(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	f.on(t, nell, strip, 0)
	pickUp := &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "pick_up", StartTime: at(60), EndTime: at(90), Device: "phone", DeviceTime: timestamppb.Now()}
	f.settle(t, accepted(f.send(t, pickUp).ClockReview, true))
	all := f.entries(t, nell)
	if len(all) != 3 || all[0].Stage != strip || minuteOf(all[0].EndTime) != 60 || all[1].Indirect != "pick_up" || all[2].Stage != strip || minuteOf(all[2].StartTime) != 90 || all[2].EndTime != nil {
		t.Errorf("entries = %v", all)
	}
}

// An entry that no longer counts says who said so, and why.
func TestServer_TakenAwayBy(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	e := f.works(t, nell, stages["strip top"].Name, 0, 60)
	if _, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), &workflowv1.CorrectClockEntryRequest{RequestId: svctest.NewID(), ClockEntry: e.Name, Reason: "never happened"}); err != nil {
		t.Fatal(err)
	}
	if got := f.entries(t, nell)[0]; !got.Superseded || got.SupersededBy != svctest.Actor || got.SupersedeReason != "never happened" || got.SupersedeTime == nil {
		t.Errorf("entry = %v", got)
	}
}
