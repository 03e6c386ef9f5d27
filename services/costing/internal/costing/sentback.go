package costing

import "tackfree/pkg/id"

// SentBack is that stages of a piece have to be done again.
type SentBack struct {
	Fact
	BecauseOf id.ID // the stage that was sent back; the others built on it
	Stages    []Reopened
}

// Reopened is a stage that is open again.
type Reopened struct {
	Stage id.ID
	Kind  string
}

// Inspection is one that sent a stage back. Both are told of the piece in one moment, first that it
// was sent back.
type Inspection struct {
	Fact
	BackTo  id.ID
	Defects []string // kinds, each as often as it was found
}

// SendBack notes that stages are open again, and why.
func (b *Book) SendBack(s SentBack) {
	b.SentBacks = append(b.SentBacks, s)
	stages := make([]id.ID, len(s.Stages))
	for i, r := range s.Stages {
		stages[i] = r.Stage
	}
	b.SetStages(s.Fact, StageOpen, stages...)
}

// Inspected notes what an inspection found.
func (b *Book) Inspected(i Inspection) { b.Inspections = append(b.Inspections, i) }
