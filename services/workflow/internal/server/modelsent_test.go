package server_test

import (
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// What a sent entry is put to the lead for.
const (
	overlaps = workflowv1.ClockReview_KIND_OVERLAP
	refused  = workflowv1.ClockReview_KIND_REFUSED
	skewed   = workflowv1.ClockReview_KIND_SKEW
)

// sending is what a device kept: what somebody was on and from when to when, or when a clock ended
// that was begun online.
type sending struct {
	who        int
	to         target
	start, end int    // 0: it runs on
	ends       worked // of no name: none
	wrong      bool   // the device's clock
}

// ahead is what a wrong clock is ahead, in seconds.
const ahead = 360

// backwards tells whether it ends no later than it began.
func (s sending) backwards() bool { return s.start != 0 && s.end != 0 && s.end <= s.start }

// byShop is the same by the shop's clock.
func (s sending) byShop() sending {
	for _, at := range []*int{&s.start, &s.end} {
		if s.wrong && *at != 0 {
			*at -= ahead
		}
	}
	return s
}

// kept is what was sent, and the answer.
type kept struct {
	sending
	r   *workflowv1.SendClockEntryRequest
	got *workflowv1.SendClockEntryResponse
}

// send sends what a device kept, which is often long over, and may be down already.
func (m *model) send(rt *rapid.T) {
	s := sending{who: m.who(rt, rapid.Bool().Draw(rt, "on the clock")), wrong: rapid.IntRange(0, 9).Draw(rt, "skew") > 7}
	end := m.near(rt, s.who)
	if len(m.entries[s.who]) > 0 && rapid.IntRange(0, 3).Draw(rt, "ends") == 3 {
		s.ends, s.end = rapid.SampledFrom(m.entries[s.who]).Draw(rt, "clock"), end
		s.who = pick(rt, "whose", len(m.people), func(who int) bool { return who == s.ends.Who })
	} else if s.to = m.target(rt, s.who); rapid.IntRange(0, 3).Draw(rt, "runs on") == 3 {
		s.start = end
	} else {
		s.start, s.end = max(60, end-60*rapid.IntRange(0, 15).Draw(rt, "length")), end
	}
	m.sent(rt, s, m.request(s))
}

// near is an instant now, or about when a person began or ended something before.
func (m *model) near(rt *rapid.T, who int) int {
	at := m.when(rt)
	if len(m.entries[who]) > 0 && rapid.IntRange(0, 2).Draw(rt, "late") > 0 {
		e := rapid.SampledFrom(m.entries[who]).Draw(rt, "entry")
		at = rapid.SampledFrom([]int{e.Start, max(e.Start, e.End)}).Draw(rt, "about")/60*60 + 60*rapid.IntRange(-4, 8).Draw(rt, "by")
	}
	return max(120, at)
}

func (m *model) request(s sending) *workflowv1.SendClockEntryRequest {
	r := &workflowv1.SendClockEntryRequest{Person: m.people[s.who], ClockEntry: s.ends.name, Device: "the phone"}
	if s.end != 0 {
		r.EndTime = second(s.end)
	}
	if s.ends.name == "" {
		r.Stage, r.Batch, r.Indirect = m.name(s.to)
		r.Station, r.StartTime = m.stationOf(s.to), second(s.start)
	}
	return anew(r, s.wrong)
}

// anew is a request with another request id.
func anew(r *workflowv1.SendClockEntryRequest, wrong bool) *workflowv1.SendClockEntryRequest {
	r = proto.CloneOf(r)
	r.RequestId, r.DeviceTime = svctest.NewID(), timestamppb.New(today)
	if wrong {
		r.DeviceTime.Seconds += ahead
	}
	return r
}

// sent sends it: it counts, or stands there already, or is put to the lead.
func (m *model) sent(rt *rapid.T, s sending, r *workflowv1.SendClockEntryRequest) {
	got, err := m.f.clocks.SendClockEntry(svctest.Ctx(m.t), r)
	if !m.agree(rt, "send", s.ends.name == "" || s.ends.Who == s.who, err) {
		return
	}
	contradicts, why := m.contradicted(s), m.counts(s)
	if why == 0 {
		m.tryAgain(s.who)
	} else if m.isDown(s) {
		why = 0
	}
	if (got.ClockReview == "") != (why == 0) || (len(got.ClockEntries) == 0) != (why != 0) {
		rt.Fatalf("sent %+v: the service says %v, the model: %v", s, got, why)
	}
	if m.learn(s.who); why != 0 {
		m.reviews = append(m.reviews, modelReview{Who: s.who, Kind: why, Contradicts: contradicts, sending: s, name: got.ClockReview})
	}
	m.kept = append(m.kept, kept{s, r, got})
}

// sendOnceMore sends again what was sent: as it was, or another thing by its request id, or because
// the device was set up anew.
func (m *model) sendOnceMore(rt *rapid.T) {
	if len(m.kept) == 0 {
		m.send(rt)
		return
	}
	k := rapid.SampledFrom(m.kept).Draw(rt, "kept")
	m.about(k.who)
	switch rapid.IntRange(0, 3).Draw(rt, "how") {
	case 0:
		other := proto.CloneOf(k.r)
		other.Device = "another phone"
		if _, err := m.f.clocks.SendClockEntry(svctest.Ctx(m.t), other); !fault.Is(err, "REQUEST_ID_REUSED") {
			rt.Fatalf("another thing by the same request id = %v", err)
		}
	case 1:
		m.sent(rt, k.sending, anew(k.r, k.wrong))
	default:
		later := proto.CloneOf(k.r)
		later.DeviceTime.Seconds += 90
		got, err := m.f.clocks.SendClockEntry(svctest.Ctx(m.t), later)
		if m.agree(rt, "send again", true, err); !proto.Equal(k.got, got) {
			rt.Fatalf("sent again = %v, want %v", got, k.got)
		}
	}
}
