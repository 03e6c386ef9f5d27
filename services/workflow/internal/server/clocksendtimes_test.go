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

// What no clock of our time can show is refused as it is when somebody writes it down.
func TestServer_SendClockEntry_TimesOfNoDevice(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	const dayOne = -62135596800 // seconds: the first of year 1
	for _, c := range []struct {
		name    string
		seconds int64
		nanos   int32
		want    string
	}{
		{"YearOne", dayOne, 0, "TIME_TOO_OLD"},
		{"BeforeYearOne", dayOne - 1, 0, "TIME_MALFORMED"},
		{"Nineties", 800_000_000, 0, "TIME_TOO_OLD"},
		{"Epoch", 0, 0, "TIME_TOO_OLD"},
		{"LongBefore", -1 << 60, 0, "TIME_MALFORMED"},
		{"LongAfter", 1 << 60, 0, "TIME_MALFORMED"},
		{"Nanos", morning.Unix(), -5, "TIME_MALFORMED"},
		{"EndOfYears", 253402300799, 0, "TIME_IN_FUTURE"},
	} {
		bad := &timestamppb.Timestamp{Seconds: c.seconds, Nanos: c.nanos}
		for field, r := range map[string]*workflowv1.SendClockEntryRequest{
			"Start": {StartTime: bad, EndTime: at(30)}, "End": {StartTime: at(0), EndTime: bad}, "Runs": {StartTime: bad},
		} {
			t.Run(c.name+field, func(t *testing.T) {
				r.RequestId, r.Person, r.Indirect, r.Device, r.DeviceTime = svctest.NewID(), nell, "cleaning", "phone", timestamppb.Now()
				svctest.Refused(t, f.Service, f.clocks.SendClockEntry, r, fault.Invalid, c.want)
			})
		}
	}
	r := sent(nell, "", 0, 30)
	r.Indirect, r.DeviceTime = "cleaning", &timestamppb.Timestamp{Seconds: 1 << 60}
	svctest.Refused(t, f.Service, f.clocks.SendClockEntry, r, fault.Invalid, "TIME_MALFORMED")
}

// Labour is counted in whole milliseconds, whoever tells of it.
func TestServer_SendClockEntry_WholeMilliseconds(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	r := sent(nell, "", 0, 30)
	r.Indirect, r.StartTime, r.EndTime = "cleaning", timestamppb.New(morning.Add(1_999_999)), timestamppb.New(morning.Add(time.Hour+2_000_001))
	e := f.send(t, r).ClockEntries[0]
	if start, end := e.StartTime.AsTime().Sub(morning), e.EndTime.AsTime().Sub(morning); start != time.Millisecond || end != time.Hour+2*time.Millisecond {
		t.Errorf("it goes from %v to %v after the morning", start, end)
	}
}

// A phone whose battery was empty began to count anew. What it kept is put to the lead, whose "less
// the skew" finds when it was.
func TestServer_SendClockEntry_CountedAnew(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	epoch := time.Unix(0, 0)
	kept := &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "cleaning", Device: "phone",
		StartTime: timestamppb.New(epoch.Add(time.Hour)), EndTime: timestamppb.New(epoch.Add(2 * time.Hour)), DeviceTime: timestamppb.New(epoch.Add(3 * time.Hour))}
	began := time.Now().Add(-2 * time.Hour)
	r := accepted(f.send(t, kept).ClockReview, false)
	r.GetAccept().LessSkew = true
	e := f.settle(t, r).ClockEntries[0]
	if start := e.StartTime.AsTime(); start.Before(began) || start.After(began.Add(time.Minute)) || e.EndTime.AsTime().Sub(start) != time.Hour {
		t.Errorf("it counts from %v to %v, want from %v on, an hour long", start, e.EndTime.AsTime(), began)
	}
}

// A clock that was set back while somebody worked, or since, keeps nothing from the lead.
func TestServer_SendClockEntry_SetBack(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	f.works(t, nell, strip, 90, 110)
	now := time.Now().Truncate(time.Second)
	for _, c := range []struct {
		name       string
		start, end *timestamppb.Timestamp
		says       string
	}{
		{"Backwards", at(100), at(95), "is not after the start"},
		{"Empty", at(100), at(100), "is not after the start"},
		{"Ahead", at(120), timestamppb.New(now.Add(time.Hour)), "ahead of the clock of Nell's phone itself"},
		{"RunsAhead", timestamppb.New(now.Add(time.Hour)), nil, "ahead of the clock of Nell's phone itself"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := sent(nell, strip, 0, 1)
			r.StartTime, r.EndTime = c.start, c.end
			name := f.send(t, r).ClockReview
			open := f.reviews(t, false)
			if len(open) != 1 {
				t.Fatalf("reviews = %v, want one", open)
			}
			got := open[0]
			if got.Name != name || got.Kind != workflowv1.ClockReview_KIND_REFUSED || !proto.Equal(got.Sent.StartTime, c.start) || !proto.Equal(got.Sent.EndTime, c.end) {
				t.Errorf("review = %v, want both times kept", got)
			}
			says(t, &fault.Fault{Text: got.Reason}, c.says)
			svctest.Refused(t, f.Service, f.settler().SettleClockReview, accepted(name, false), fault.Invalid, map[bool]string{true: "TIME_IN_FUTURE", false: "CLOCK_ENDS_BEFORE_START"}[c.name != "Backwards" && c.name != "Empty"])
			f.settle(t, dismissed(name))
		})
	}
	r := sent(nell, strip, 0, 1)
	r.StartTime, r.EndTime = at(130), at(125)
	said := accepted(f.send(t, r).ClockReview, false)
	said.GetAccept().EndTime = at(135)
	f.settle(t, said)
	sameTimes(t, "Nell", f.counts(t, nell), [2]int{90, 110}, [2]int{130, 135})
}

// A device that asks again says what its clock shows by then, or what it showed at first: it is the
// same entry, and its clock was as right as it was.
func TestServer_SendClockEntry_AskedAgain(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	r := sent(nell, "", 0, 30)
	r.Indirect = "cleaning"
	first := f.send(t, r)
	for _, shown := range []time.Duration{-3 * time.Minute, time.Second} {
		again := proto.CloneOf(r)
		again.DeviceTime = timestamppb.New(time.Now().Add(shown))
		if got := f.send(t, again); !proto.Equal(got, first) {
			t.Errorf("asked again = %v, want %v", got, first)
		}
	}
	other := proto.CloneOf(r)
	other.Device = "another phone"
	svctest.Refused(t, f.Service, f.clocks.SendClockEntry, other, fault.Invalid, "REQUEST_ID_REUSED")
}
