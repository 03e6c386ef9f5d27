package workflow_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// situation is a bench in a state, with what stands around it when a command is given.
type situation struct {
	*bench
	workflow.Whereabouts
	now   time.Time
	stage id.ID
	out   workflow.Outside
	batch workflow.Batch
}

// stageStates brings a stage into each state; what is not said of it there is as in newBench.
var stageStates = map[string]func(*testing.T, *situation) id.ID{
	"Unknown":       func(_ *testing.T, _ *situation) id.ID { return id.New() },
	"Waiting":       func(_ *testing.T, s *situation) id.ID { return s.sand },
	"Drying":        func(t *testing.T, s *situation) id.ID { s.finish(t, s.strip, s.sand); return s.coat },
	"Ready":         func(_ *testing.T, s *situation) id.ID { return s.strip },
	"InWork":        func(_ *testing.T, s *situation) id.ID { s.OnIt[s.strip] = []string{"Ira"}; return s.strip },
	"Finished":      func(t *testing.T, s *situation) id.ID { s.finish(t, s.strip); return s.strip },
	"Inspection":    func(t *testing.T, s *situation) id.ID { s.lookedAt(t, 0); return s.inspect },
	"WetInspection": func(t *testing.T, s *situation) id.ID { s.lookedAt(t, time.Hour); return s.inspect },
	"Passed": func(t *testing.T, s *situation) id.ID {
		s.lookedAt(t, 0)
		stage, _ := s.Stage(s.inspect)
		stage.FinishedAt = nine
		return s.inspect
	},
	"Away": func(t *testing.T, s *situation) id.ID { s.sent(t, s.strip); return s.strip },
	"FinishedAway": func(t *testing.T, s *situation) id.ID {
		s.finish(t, s.strip)
		s.sent(t, id.Nil)
		return s.strip
	},
	"InBatch": func(t *testing.T, s *situation) id.ID { s.batched(t); return s.strip },
	"BatchInWork": func(t *testing.T, s *situation) id.ID {
		s.batched(t)
		s.OnIt[s.strip] = []string{"Ira"}
		return s.strip
	},
	"Scrapped": func(_ *testing.T, s *situation) id.ID { s.Piece.Scrapped = true; return s.strip },
	"ScrappedAway": func(t *testing.T, s *situation) id.ID {
		s.sent(t, s.strip)
		s.Piece.Scrapped = true
		return s.strip
	},
}

// lookedAt finishes all before the inspection, of which the coat dries for some time.
func (s *situation) lookedAt(t *testing.T, dries time.Duration) {
	t.Helper()
	for i := range s.Stages {
		s.Stages[i].Unattended = 0
		switch s.Stages[i].ID {
		case s.coat:
			s.Stages[i].Unattended = dries
		case s.inspect:
			s.Stages[i].Kind = "inspect"
		}
	}
	s.finish(t, s.strip, s.sand, s.coat)
}

// sent gives the piece to others, for a stage or for none.
func (s *situation) sent(t *testing.T, stage id.ID) {
	t.Helper()
	sent, err := s.SendOut(workflow.Sending{Kind: "stripping", Firm: "Dip & Son", Due: day(10), Stage: stage, At: nine}, s.Whereabouts, id.New)
	if err != nil {
		t.Fatal(err)
	}
	s.out, s.Last, s.Away = sent.Outside, sent.Begun, []id.ID{id.Nil}
}

// batched puts the stripping into a batch.
func (s *situation) batched(t *testing.T) {
	t.Helper()
	var err error
	if s.batch, _, err = workflow.FormBatch(id.New(), "strippings", "", []workflow.Member{{Plan: &s.Plan, Stage: s.strip}}, nine); err != nil {
		t.Fatal(err)
	}
}

// arranged is a bench whose stage is in a state, half an hour later.
func arranged(t *testing.T, state string) *situation {
	t.Helper()
	s := &situation{bench: newBench(), now: nine.Add(30 * time.Minute)}
	s.out.State, s.batch.State = workflow.Back, workflow.BatchDissolved
	s.stage = stageStates[state](t, s)
	return s
}

// facts are what a clock-on of Nell's is decided from, as they are read of the plan.
func (s *situation) facts(stage workflow.Stage) workflow.Facts {
	f := workflow.Facts{Piece: s.Piece, Stage: stage, Person: *stripper, Ground: s.ground(), Away: len(s.Away) > 0}
	for _, before := range s.Stages {
		if slices.Contains(stage.After, before.ID) && !before.Finished() {
			f.OpenBefore = append(f.OpenBefore, before.Title())
		}
	}
	return f
}

// ground is what dries.
func (s *situation) ground() (g workflow.Ground) {
	for _, c := range s.Clocks {
		dry := nine.Add(time.Hour)
		g.Wet = append(g.Wet, workflow.Wet{Part: c.Part, SandAt: dry, RecoatAt: dry, CuredAt: dry})
	}
	return g
}

// Nell and Ira can strip.
var stripper, other = helper("Nell", "strip"), helper("Ira", "strip")

// give makes the stage Ira's.
func (s *situation) give() {
	if stage, err := s.Stage(s.stage); err == nil {
		stage.Assignee, stage.AssignedTo = other.ID, other.Name
	}
}
