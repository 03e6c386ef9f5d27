package server_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// hands are somebody's, for whom there is a stage that they are or were on and another one that
// waits; Odo has a third one.
type hands struct {
	*floor
	who, odo                string
	first, second, handedOn string
}

// handStates bring somebody into each state: never or no more on the clock, on it, or paused.
var handStates = map[string]func(*testing.T, *hands){
	"Off":    func(_ *testing.T, _ *hands) {},
	"OffNow": func(t *testing.T, h *hands) { h.works(t, h.who, h.first, 10, 30) },
	"On":     func(t *testing.T, h *hands) { h.on(t, h.who, h.first, 10) },
	"Paused": func(t *testing.T, h *hands) {
		h.on(t, h.who, h.first, 10)
		if _, err := h.clocks.PauseClock(svctest.Ctx(t), h.pausing(30)); err != nil {
			t.Fatal(err)
		}
	},
}

func (h *hands) pausing(minute int) *workflowv1.PauseClockRequest {
	return &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: h.who, PauseTime: at(minute)}
}

// handCommands are given to or by them at minute 60.
var handCommands = map[string]func(*testing.T, *hands) error{
	"On": func(t *testing.T, h *hands) error {
		_, err := h.clocks.ClockOn(svctest.Ctx(t), h.clockOn(h.who, h.second, 60))
		return err
	},
	"Off": func(t *testing.T, h *hands) error {
		_, err := h.clocks.ClockOff(svctest.Ctx(t), clockOff(h.who, 60))
		return err
	},
	"Switch": func(t *testing.T, h *hands) error {
		_, err := h.clocks.SwitchClock(svctest.Ctx(t), &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: h.who, Stage: h.second, SwitchTime: at(60)})
		return err
	},
	"SwitchFinishing": func(t *testing.T, h *hands) error {
		_, err := h.clocks.SwitchClock(svctest.Ctx(t), &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: h.who, Stage: h.second, SwitchTime: at(60), Finish: true})
		if err == nil {
			h.is(t, h.first, workflowv1.Stage_STATE_FINISHED, 1)
		}
		return err
	},
	"Pause": func(t *testing.T, h *hands) error {
		_, err := h.clocks.PauseClock(svctest.Ctx(t), h.pausing(60))
		return err
	},
	"Resume": func(t *testing.T, h *hands) error {
		_, err := h.clocks.ResumeClock(svctest.Ctx(t), &workflowv1.ResumeClockRequest{RequestId: svctest.NewID(), Person: h.who, ResumeTime: at(60)})
		return err
	},
	"IsGiven": func(t *testing.T, h *hands) error {
		_, err := h.stages.HandOverStage(svctest.Ctx(t), h.handing(h.handedOn, h.odo, h.who, 60, false))
		return err
	},
	"IsGivenAndBegins": func(t *testing.T, h *hands) error {
		_, err := h.stages.HandOverStage(svctest.Ctx(t), h.handing(h.handedOn, h.odo, h.who, 60, true))
		return err
	},
	"Claim": func(t *testing.T, h *hands) error {
		r := claiming(h.who)
		r.Stage = h.second
		_, err := h.stages.ClaimStage(svctest.Ctx(t), r)
		return err
	},
}

// Every command to a pair of hands in every state that they can be in: the refusal, or what they
// are then on and how they left what they were on.
func TestServer_HandsByState(t *testing.T) {
	t.Parallel()
	f := setup(t)
	odo := f.person(t, "Odo")
	want := map[string]map[string]string{
		"Off": {"On": "on second", "Off": "CLOCK_NOT_OPEN", "Switch": "CLOCK_NOT_OPEN", "SwitchFinishing": "CLOCK_NOT_OPEN", "Pause": "CLOCK_NOT_OPEN", "Resume": "NOT_PAUSED",
			"IsGiven": "off", "IsGivenAndBegins": "on third", "Claim": "off"},
		"OffNow": {"On": "left first, on second", "Off": "CLOCK_NOT_OPEN", "Switch": "CLOCK_NOT_OPEN", "SwitchFinishing": "CLOCK_NOT_OPEN", "Pause": "CLOCK_NOT_OPEN", "Resume": "NOT_PAUSED",
			"IsGiven": "left first", "IsGivenAndBegins": "left first, on third", "Claim": "left first"},
		"On": {"On": "CLOCK_OPEN", "Off": "left first", "Switch": "left first, on second", "SwitchFinishing": "left first, on second", "Pause": "paused first", "Resume": "NOT_PAUSED",
			"IsGiven": "on first", "IsGivenAndBegins": "CLOCK_OPEN", "Claim": "on first"},
		"Paused": {"On": "paused first, on second", "Off": "CLOCK_NOT_OPEN", "Switch": "CLOCK_NOT_OPEN", "SwitchFinishing": "CLOCK_NOT_OPEN", "Pause": "CLOCK_NOT_OPEN", "Resume": "paused first, on first",
			"IsGiven": "paused first", "IsGivenAndBegins": "paused first, on third", "Claim": "paused first"},
	}
	tag := int32(20)
	for state, arrange := range handStates {
		for name, command := range handCommands {
			t.Run(state+"/"+name, func(t *testing.T) {
				tag++
				h := newHands(t, f, odo, tag)
				arrange(t, h)
				before := h.entries(t, h.who)
				err := command(t, h)
				got := fault.Reason(err)
				if err == nil {
					got = h.shown(t)
				}
				if got != want[state][name] {
					t.Errorf("%s of hands that are %s = %q (%v), want %q", name, state, got, err, want[state][name])
				}
				if diff := cmp.Diff(before, h.entries(t, h.who), protocmp.Transform()); err != nil && diff != "" {
					t.Errorf("a refused %s changed (-before +after):\n%s", name, diff)
				}
			})
		}
	}
}

func newHands(t *testing.T, f *floor, odo string, tag int32) *hands {
	t.Helper()
	_, stages := f.drawers(t, tag)
	_, more := f.drawers(t, tag+1000)
	h := &hands{floor: f, odo: odo, who: f.person(t, fmt.Sprintf("Nell %d", tag)), first: stages["dewax left"], second: stages["dewax right"], handedOn: more["dewax left"]}
	f.assign(t, assigning(h.handedOn, odo))
	return h
}

// shown tells of the entries in their order how each was left, or that it runs.
func (h *hands) shown(t *testing.T) string {
	t.Helper()
	entries := h.entries(t, h.who)
	slices.SortFunc(entries, func(a, b *workflowv1.ClockEntry) int { return a.StartTime.AsTime().Compare(b.StartTime.AsTime()) })
	called := map[string]string{h.first: "first", h.second: "second", h.handedOn: "third"}
	out := ""
	for _, e := range entries {
		how := "left "
		switch {
		case e.EndTime == nil:
			how = "on "
		case e.Paused:
			how = "paused "
		}
		if out != "" {
			out += ", "
		}
		out += how + called[e.Stage]
	}
	if out == "" {
		return "off"
	}
	return out
}
