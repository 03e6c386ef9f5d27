package workflow

import (
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Batch are stages of several pieces that are run as one.
//
//	form ─▶ open ─ finish, all or the last one by itself ─▶ finished
//	           └── dissolve ─▶ dissolved: its stages go on one by one
type Batch struct {
	ID          id.ID
	Name        string
	State       BatchState
	Split       BatchSplit
	Kind        string
	Product     id.ID // id.Nil: none
	ProductName string
	Shares      []Share
	FormedAt    time.Time
	EndedAt     time.Time // zero: it is open
	Version     int64
}

// BatchState is what a batch is.
type BatchState string

// The states of a batch.
const (
	BatchOpen      BatchState = "open"
	BatchFinished  BatchState = "finished"
	BatchDissolved BatchState = "dissolved"
)

// BatchSplit is how time and material of a batch are split.
type BatchSplit string

// The ways to split.
const (
	Equally BatchSplit = "equal"
	ByArea  BatchSplit = "area"
)

// Share is a stage of a batch, and its part of the whole by the sum of all.
type Share struct {
	Stage  id.ID
	Title  string
	Piece  id.ID
	Tag    int32
	Pass   int32
	Weight int64
}

// open refuses a batch that is no more. Fault: BATCH_NOT_OPEN.
func (b Batch) open() error {
	if b.State == BatchOpen {
		return nil
	}
	return fault.New(fault.Precondition, "BATCH_NOT_OPEN", "The batch %q is %s. Form another one, or go on stage by stage.", b.Name, b.State)
}

// Pieces are those whose stages are in the batch, each once.
func (b Batch) Pieces() (out []id.ID) {
	seen := map[id.ID]bool{}
	for _, s := range b.Shares {
		if !seen[s.Piece] {
			seen[s.Piece] = true
			out = append(out, s.Piece)
		}
	}
	return out
}

// Stages are those of the batch.
func (b Batch) Stages() []id.ID {
	out := make([]id.ID, len(b.Shares))
	for i, s := range b.Shares {
		out[i] = s.Stage
	}
	return out
}

// Finish ends the batch with all of its stages. Fault: BATCH_NOT_OPEN.
func (b *Batch) Finish(at time.Time) error {
	if err := b.open(); err != nil {
		return err
	}
	b.end(BatchFinished, at)
	return nil
}

// Dissolve lets the stages go on one by one; onIt are people on the clock at any of them.
// Faults: BATCH_NOT_OPEN, STAGE_HAS_OPEN_CLOCK.
func (b *Batch) Dissolve(onIt []string, at time.Time) error {
	if err := b.open(); err != nil {
		return err
	}
	if len(onIt) > 0 {
		names := strings.Join(onIt, ", ")
		return fault.New(fault.Precondition, "STAGE_HAS_OPEN_CLOCK", "Still on the clock at stages of the batch %q: %s. Clock off first.", b.Name, names).With("people", names)
	}
	b.end(BatchDissolved, at)
	return nil
}

// Leave takes a stage that was finished by itself out of the batch, in which the others keep
// their weights; the last one ends it.
func (b *Batch) Leave(stage id.ID, at time.Time) {
	if len(b.Shares) == 1 {
		b.end(BatchFinished, at)
		return
	}
	b.Shares = slices.DeleteFunc(b.Shares, func(s Share) bool { return s.Stage == stage })
}

func (b *Batch) end(as BatchState, at time.Time) {
	b.State, b.EndedAt = as, at
	b.Version++
}

// Leave takes a finished stage out of the batch that it was run in, and gives that; id.Nil:
// it was in none.
func (s *Stage) Leave() (batch id.ID) {
	if s.Finished() {
		batch, s.Batch = s.Batch, id.Nil
	}
	return batch
}
