package bench

import (
	"net/http"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// head begins a press a minute before noon.
const head = `{"id": "r1", "person": "people/bao", "at": "2026-03-18T16:59:00.250Z", `

// at is when that was.
var at = &timestamppb.Timestamp{Seconds: noon.Unix() - 60, Nanos: 250e6}

// Each press is the command that it stands for, under the phone's id and at the moment of the press.
func TestClock(t *testing.T) {
	for name, c := range map[string]struct {
		body string
		want []proto.Message
	}{
		"On": {head + `"do": "on", "stage": "pieces/p/stages/s", "cautions": ["fire"]}`, []proto.Message{&workflowv1.ClockOnRequest{
			RequestId: "r1", Person: "people/bao", Stage: "pieces/p/stages/s", StartTime: at, AcknowledgedCautions: []string{"fire"}}}},
		"OnIndirect": {head + `"do": "on", "indirect": "cleaning"}`, []proto.Message{&workflowv1.ClockOnRequest{RequestId: "r1", Person: "people/bao", Indirect: "cleaning", StartTime: at}}},
		"Off":        {head + `"do": "off"}`, []proto.Message{&workflowv1.ClockOffRequest{RequestId: "r1", Person: "people/bao", EndTime: at}}},
		"Switch": {head + `"do": "switch", "batch": "batches/b", "finish": true}`, []proto.Message{&workflowv1.SwitchClockRequest{
			RequestId: "r1", Person: "people/bao", Batch: "batches/b", SwitchTime: at, Finish: true}}},
		"Finish": {head + `"do": "finish", "finish_stage": "pieces/p/stages/s", "finish_id": "r2"}`, []proto.Message{
			&workflowv1.ClockOffRequest{RequestId: "r1", Person: "people/bao", EndTime: at},
			&workflowv1.FinishStageRequest{RequestId: "r2", Stage: "pieces/p/stages/s", FinishTime: at}}},
	} {
		s := &shop{}
		var got pressed
		if code := call(t, kitOf(s), http.MethodPost, "/bench/clock", c.body, &got); code != http.StatusOK || got.State == nil || got.Said != "" {
			t.Errorf("%s: = %d, %+v, want it done, with the state", name, code, got)
		}
		if len(s.asked) != len(c.want) {
			t.Errorf("%s: asked %v, want %v", name, s.asked, c.want)
			continue
		}
		for i := range c.want {
			if !proto.Equal(s.asked[i], c.want[i]) {
				t.Errorf("%s: asked %v, want %v", name, s.asked[i], c.want[i])
			}
		}
	}
}

// Nothing is done in another's name, without the form's key, or by a body that this page does not send.
func TestClock_Refused(t *testing.T) {
	for name, c := range map[string]struct {
		body   string
		code   int
		reason string
	}{
		"OfAnother":  {strings.Replace(head, "bao", "eva", 1) + `"do": "off"}`, http.StatusForbidden, "NOT_YOURS"},
		"Unknown":    {head + `"do": "dance"}`, http.StatusBadRequest, "PRESS_UNKNOWN"},
		"MoreFields": {head + `"do": "off", "role": "owner"}`, http.StatusBadRequest, "PRESS_UNREADABLE"},
		"NoJSON":     {"off", http.StatusBadRequest, "PRESS_UNREADABLE"},
		"Long":       {head + `"do": "` + strings.Repeat("x", longestPress) + `"}`, http.StatusBadRequest, "PRESS_UNREADABLE"},
	} {
		s := &shop{}
		var got struct{ Error struct{ Reason string } }
		if code := call(t, kitOf(s), http.MethodPost, "/bench/clock", c.body, &got); code != c.code || got.Error.Reason != c.reason || len(s.asked) > 0 {
			t.Errorf("%s: = %d %s, asked %v; want %d %s and nothing asked", name, code, got.Error.Reason, s.asked, c.code, c.reason)
		}
	}
}

// A clock that went off while its stage could not be finished is off, and the rest is said.
func TestClock_Unfinished(t *testing.T) {
	body := head + `"do": "finish", "finish_stage": "pieces/p/stages/s", "finish_id": "r2"}`
	s := &shop{finishErr: fault.New(fault.Precondition, "STAGE_HAS_OPEN_CLOCK", "Anselm is still on it.")}
	var got pressed
	if code := call(t, kitOf(s), http.MethodPost, "/bench/clock", body, &got); code != http.StatusOK || !strings.Contains(got.Said, "Anselm is still on it.") {
		t.Errorf("= %d, %+v, want it to say who is still on it", code, got)
	}
	s.finishErr = fault.New(fault.Unavailable, "AWAY", "Away.")
	if code := call(t, kitOf(s), http.MethodPost, "/bench/clock", body, nil); code != http.StatusServiceUnavailable {
		t.Errorf("while nobody knows whether it is finished = %d, want %d so that the phone asks again", code, http.StatusServiceUnavailable)
	}
}

// Whoever clocks on to a piece that was sold is told so; their clock runs.
func TestClock_Sold(t *testing.T) {
	s := &shop{notices: []string{"Piece 7 was sold on 4 March."}}
	var got pressed
	call(t, kitOf(s), http.MethodPost, "/bench/clock", head+`"do": "on", "stage": "pieces/p/stages/s"}`, &got)
	if got.Entry == "" || !strings.Contains(got.Said, "was sold") {
		t.Errorf("= %+v, want a clock that runs, and the piece sold", got)
	}
}

// What a phone kept goes as it was kept; where the lead has to settle it, the shop's own sentence says why.
func TestSendEntry(t *testing.T) {
	const body = `{"id": "r1", "person": "people/bao", "stage": "pieces/p/stages/s", "batch": "", "indirect": "", "entry": "", "start": "2026-03-18T16:59:00.250Z", "end": null,
		"device": "phone 1A2B", "shows": "2026-03-18T17:00:00Z", "cautions": ["fire"], "about": "pieces/p/stages/s"}`
	s := &shop{}
	var got taken
	if code := call(t, kitOf(s), http.MethodPost, "/bench/entry", body, &got); code != http.StatusOK || got.Entry != "clockEntries/3" || got.Lead != "" {
		t.Errorf("= %d, %+v, want it to count", code, got)
	}
	want := &workflowv1.SendClockEntryRequest{RequestId: "r1", Person: "people/bao", Stage: "pieces/p/stages/s", StartTime: at, Device: "phone 1A2B",
		DeviceTime: timestamppb.New(noon), AcknowledgedCautions: []string{"fire"}}
	if len(s.asked) != 1 || !proto.Equal(s.asked[0], want) {
		t.Errorf("asked %v, want %v", s.asked, want)
	}
	s = &shop{review: "clockReviews/1", happened: []*workflowv1.ListPieceTimelineResponse_Happening{{Kind: setAside, Text: "An older one."}, {Kind: setAside, Text: "It overlaps."}, {Kind: "clocked_on", Text: "Something else."}}}
	if call(t, kitOf(s), http.MethodPost, "/bench/entry", body, &got); !strings.Contains(got.Lead, "It overlaps.") {
		t.Errorf("with the lead it says %q, want why", got.Lead)
	}
	got = taken{}
	if call(t, kitOf(s), http.MethodPost, "/bench/entry", strings.ReplaceAll(strings.ReplaceAll(body, "pieces/p/stages/s", ""), `"indirect": ""`, `"indirect": "cleaning"`), &got); got.Lead == "" {
		t.Error("work on no piece, with the lead, says nothing")
	}
	var refused struct{ Error struct{ Reason string } }
	if code := call(t, kitOf(s), http.MethodPost, "/bench/entry", strings.Replace(body, "bao", "eva", 1), &refused); code != http.StatusForbidden || refused.Error.Reason != "NOT_YOURS" {
		t.Errorf("another's = %d %s, want NOT_YOURS", code, refused.Error.Reason)
	}
}
