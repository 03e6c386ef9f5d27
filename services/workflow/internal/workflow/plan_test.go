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

// Every command on a stage in every state it can be in.
func TestPlan_CommandsByState(t *testing.T) {
	nell := &workflow.Person{ID: id.New(), Name: "Nell", Skills: []workflow.Skill{{Word: "strip", Level: 2}}}
	commands := map[string]func(*bench, id.ID) error{
		"Assign":   func(b *bench, s id.ID) error { _, err := b.Assign(s, nell, false, nine); return err },
		"Unassign": func(b *bench, s id.ID) error { _, err := b.Assign(s, nil, false, nine); return err },
		"Finish":   func(b *bench, s id.ID) error { _, err := b.Finish(s, nine, workflow.Entry{}); return err },
		"SendBack": func(b *bench, s id.ID) error { _, err := b.SendBack(s, nine); return err },
	}
	states := map[string]func(*testing.T, *bench) id.ID{
		"Unknown":  func(_ *testing.T, _ *bench) id.ID { return id.New() },
		"Waiting":  func(_ *testing.T, b *bench) id.ID { return b.sand },
		"Ready":    func(_ *testing.T, b *bench) id.ID { return b.strip },
		"InWork":   func(_ *testing.T, b *bench) id.ID { b.OnIt[b.strip] = []string{"Ira"}; return b.strip },
		"Drying":   func(t *testing.T, b *bench) id.ID { b.finish(t, b.strip, b.sand); return b.coat },
		"Finished": func(t *testing.T, b *bench) id.ID { b.finish(t, b.strip); return b.strip },
		"Scrapped": func(_ *testing.T, b *bench) id.ID { b.Piece.Scrapped = true; return b.strip },
	}
	want := map[string]map[string]string{
		"Unknown":  {"Assign": "STAGE_NOT_FOUND", "Unassign": "STAGE_NOT_FOUND", "Finish": "STAGE_NOT_FOUND", "SendBack": "STAGE_NOT_FOUND"},
		"Waiting":  {"Assign": "", "Unassign": "", "Finish": "STAGE_NOT_READY", "SendBack": "STAGE_NOT_FINISHED"},
		"Ready":    {"Assign": "", "Unassign": "", "Finish": "", "SendBack": "STAGE_NOT_FINISHED"},
		"InWork":   {"Assign": "STAGE_HAS_OPEN_CLOCK", "Unassign": "STAGE_HAS_OPEN_CLOCK", "Finish": "STAGE_HAS_OPEN_CLOCK", "SendBack": "STAGE_NOT_FINISHED"},
		"Drying":   {"Assign": "", "Unassign": "", "Finish": "", "SendBack": "STAGE_NOT_FINISHED"},
		"Finished": {"Assign": "STAGE_FINISHED", "Unassign": "STAGE_FINISHED", "Finish": "STAGE_FINISHED", "SendBack": ""},
		"Scrapped": {"Assign": "PIECE_SCRAPPED", "Unassign": "PIECE_SCRAPPED", "Finish": "PIECE_SCRAPPED", "SendBack": "PIECE_SCRAPPED"},
	}
	for state, arrange := range states {
		for command, run := range commands {
			t.Run(state+"/"+command, func(t *testing.T) {
				b := newBench()
				stage := arrange(t, b)
				version := b.Piece.Version
				err := run(b, stage)
				if got := fault.Reason(err); got != want[state][command] {
					t.Errorf("%s of a stage that is %s = %q (%v), want %q", command, state, got, err, want[state][command])
				}
				if moved := b.Piece.Version != version; moved != (err == nil) {
					t.Errorf("version moved: %v, after error %v", moved, err)
				}
			})
		}
	}
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
