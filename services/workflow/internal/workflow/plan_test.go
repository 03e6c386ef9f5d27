package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

var nine = time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)

// bench is a piece with a short plan: strip, then sand, then coat (sand dries an hour),
// and inspect after coat.
type bench struct {
	workflow.Plan
	strip, sand, coat, inspect id.ID
}

func newBench() *bench {
	b := &bench{strip: id.New(), sand: id.New(), coat: id.New(), inspect: id.New()}
	b.OnIt = map[id.ID][]string{}
	b.Piece = workflow.Piece{ID: id.New(), Tag: 7, TakenIn: nine.AddDate(0, 0, -1), Planned: true, Version: 1}
	b.Stages = []workflow.Stage{
		{ID: b.strip, Key: "strip", Position: 1, Skill: "strip"},
		{ID: b.sand, Key: "sand", Position: 2, After: []id.ID{b.strip}, Unattended: time.Hour},
		{ID: b.coat, Key: "coat", Position: 3, After: []id.ID{b.sand}},
		{ID: b.inspect, Key: "inspect", Position: 4, After: []id.ID{b.coat}},
	}
	return b
}

func (b *bench) finish(t *testing.T, stages ...id.ID) {
	t.Helper()
	for _, s := range stages {
		done, err := b.Finish(s, nine, workflow.Entry{})
		if err != nil {
			t.Fatal(err)
		}
		if c := b.Begin(*done, 0, id.Nil); c != nil {
			if err := c.Forecast(workflow.NewAirs(nil)); err != nil {
				t.Fatal(err)
			}
			b.Clocks = append(b.Clocks, *c)
		}
	}
}

func (b *bench) state(s id.ID, now time.Time) workflow.State {
	stage, _ := b.Stage(s)
	state, _ := b.State(*stage, now)
	return state
}

func TestPlan_StateOfAStage(t *testing.T) {
	b := newBench()
	if got := b.state(b.strip, nine); got != workflow.Ready {
		t.Errorf("first stage is %s, want ready", got)
	}
	if got := b.state(b.sand, nine); got != workflow.Waiting {
		t.Errorf("second stage is %s, want waiting", got)
	}
	b.OnIt[b.strip] = []string{"Nell"}
	if got := b.state(b.strip, nine); got != workflow.InWork {
		t.Errorf("a stage with a clock on it is %s, want in work", got)
	}
	delete(b.OnIt, b.strip)
	b.finish(t, b.strip, b.sand)
	if got := b.state(b.coat, nine.Add(59*time.Minute)); got != workflow.Drying {
		t.Errorf("59 minutes after sanding, coat is %s, want drying", got)
	}
	if got := b.state(b.coat, nine.Add(time.Hour)); got != workflow.Ready {
		t.Errorf("an hour after sanding, coat is %s, want ready", got)
	}
	if got := b.state(b.sand, nine); got != workflow.Done {
		t.Errorf("a finished stage is %s, want finished", got)
	}
}

// Whatever else a stage waits for, it is away while its part is; what dries there is known all
// the same. What is finished or in work stays what it is, and so do stages of other parts.
func TestPlan_StateOfAStage_Away(t *testing.T) {
	b := newBench()
	seat, frame := id.New(), id.New()
	for i, part := range []id.ID{frame, seat, seat, id.Nil} { // strip, sand, coat, inspect
		b.Stages[i].Part = part
	}
	b.finish(t, b.strip, b.sand)
	is := func(want ...workflow.State) {
		t.Helper()
		for i, s := range []id.ID{b.strip, b.sand, b.coat, b.inspect} {
			if got := b.state(s, nine); got != want[i] {
				t.Errorf("with %v away, stage %d is %s, want %s", b.Away, i+1, got, want[i])
			}
		}
	}
	is(workflow.Done, workflow.Done, workflow.Drying, workflow.Waiting)
	b.Away = []id.ID{frame}
	is(workflow.Done, workflow.Done, workflow.Drying, workflow.Away)
	b.Away = []id.ID{seat}
	is(workflow.Done, workflow.Done, workflow.Away, workflow.Away)
	if _, wait := b.State(b.Stages[2], nine); !wait.Until.Likely.Equal(nine.Add(time.Hour)) {
		t.Errorf("what is away dries until %s", wait.Until.Likely)
	}
	b.OnIt[b.coat] = []string{"Nell"}
	is(workflow.Done, workflow.Done, workflow.InWork, workflow.Away)
}

func TestPlan_SendBackOpensWhatWasBuiltOnIt(t *testing.T) {
	b := newBench()
	b.finish(t, b.strip, b.sand, b.coat)
	reopened, err := b.SendBack(b.sand, nine)
	if err != nil {
		t.Fatal(err)
	}
	if len(reopened) != 2 || reopened[0].ID != b.sand || reopened[1].ID != b.coat {
		t.Errorf("SendBack opened %d stages, want sand and coat", len(reopened))
	}
	passes := map[id.ID]int32{b.strip: 1, b.sand: 2, b.coat: 2, b.inspect: 1}
	for _, s := range b.Stages {
		if s.Pass() != passes[s.ID] {
			t.Errorf("%s is in pass %d, want %d", s.Key, s.Pass(), passes[s.ID])
		}
	}
	if got := b.state(b.coat, nine); got != workflow.Waiting {
		t.Errorf("coat is %s, want waiting for sand again", got)
	}
}

func TestPlan_SendBackNotUnderSomebodysHands(t *testing.T) {
	b := newBench()
	b.finish(t, b.strip, b.sand)
	b.OnIt[b.coat] = []string{"Nell"}
	if _, err := b.SendBack(b.sand, nine); !fault.Is(err, "STAGE_HAS_OPEN_CLOCK") {
		t.Errorf("SendBack = %v, want STAGE_HAS_OPEN_CLOCK", err)
	}
	if s, _ := b.Stage(b.sand); !s.Finished() || s.Pass() != 1 {
		t.Errorf("a refused SendBack left %+v", s)
	}
}

func TestPiece_CheckPlan(t *testing.T) {
	for want, p := range map[string]workflow.Piece{
		"": {}, "PIECE_ALREADY_PLANNED": {Planned: true}, "PIECE_SCRAPPED": {Planned: true, Scrapped: true}} {
		if got := fault.Reason(p.CheckPlan()); got != want {
			t.Errorf("CheckPlan(%+v) = %q, want %q", p, got, want)
		}
	}
}
