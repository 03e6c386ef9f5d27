package costing

import (
	"time"

	"tackfree/pkg/id"
)

// StageState is how far a stage of a plan is.
type StageState string

// The states of a stage.
const (
	StageOpen    StageState = "open"
	StageDone    StageState = "done"
	StageDropped StageState = "dropped" // it is no more in the plan
)

// Stage is a stage of a piece's plan.
type Stage struct {
	ID        id.ID
	Piece     id.ID
	Kind      string
	Key       string
	PartLabel string
	Planned   time.Duration // of hands, as the plan is now; 0: nobody said
	Held      time.Duration // of a stage that is done: what was planned then
	State     StageState
	SentBack  int32     // how often
	DoneAt    time.Time // zero: it is not done
}

// Recall tells a book of the stages that were there before its events.
func (b *Book) Recall(known []Stage) {
	for _, s := range known {
		b.plan(s)
	}
}

func (b *Book) plan(s Stage) {
	if b.stages[s.Piece] == nil {
		b.stages[s.Piece] = map[id.ID]Stage{}
	}
	b.stages[s.Piece][s.ID] = s
}

// PlanStages notes stages that are new in a piece's plan, or planned otherwise, and those that are
// no more in it. What is done already is held against the plan that was in force then: all of it is told of
// the piece, and so in the order in which it was said.
func (b *Book) PlanStages(f Fact, stages []Stage, dropped ...id.ID) {
	b.replan(f, func() {
		for _, s := range stages {
			if old, known := b.stages[f.Piece][s.ID]; known {
				s.State, s.SentBack, s.DoneAt, s.Held = old.State, old.SentBack, old.DoneAt, old.Held
			}
			b.note(s)
		}
		b.set(f, StageDropped, dropped)
	})
}

// SetStages notes that stages of a piece are open again or done.
func (b *Book) SetStages(f Fact, to StageState, stages ...id.ID) {
	b.replan(f, func() { b.set(f, to, stages) })
}

// set notes the state of stages. One that nobody planned is passed over.
func (b *Book) set(f Fact, to StageState, stages []id.ID) {
	for _, i := range stages {
		s, known := b.stages[f.Piece][i]
		if !known {
			continue
		}
		if s.State == StageDone && to == StageOpen {
			s.SentBack++
		}
		if s.State, s.DoneAt, s.Held = to, (time.Time{}), 0; to == StageDone {
			s.DoneAt, s.Held = f.OccurredAt, s.Planned
		}
		b.note(s)
	}
}

// note keeps a stage, to be saved.
func (b *Book) note(s Stage) {
	b.plan(s)
	b.Stages[s.ID] = s
}

// replan changes a piece's plan and marks the piece when all of it is done by that, or not any more.
func (b *Book) replan(f Fact, change func()) {
	before := b.finished(f.Piece)
	change()
	switch after := b.finished(f.Piece); {
	case after && !before:
		b.mark(Mark{f, MarkFinished})
	case before && !after:
		b.mark(Mark{f, MarkReopened})
	}
}

// finished reports whether every stage of a piece is done, and there are some.
func (b *Book) finished(piece id.ID) bool {
	done := false
	for _, s := range b.stages[piece] {
		if s.State == StageOpen {
			return false
		}
		done = done || s.State == StageDone
	}
	return done
}

// Planned lists the stages that are to be saved, in one order always.
func (b *Book) Planned() []Stage { return valuesOf(b.Stages) }
