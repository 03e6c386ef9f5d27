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
//	           └── dissolve, or take the last one out ─▶ dissolved: its stages go on one by one
type Batch struct {
	ID          id.ID
	Name        string
	State       BatchState
	Split       BatchSplit
	Kind        string
	Product     id.ID // id.Nil: none
	ProductName string
	Shares      []Share // with those that left
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
	Left   time.Time // zero: it is in the batch, or was to its end
}

// open refuses a batch that is no more. Fault: BATCH_NOT_OPEN.
func (b Batch) open() error {
	if b.State == BatchOpen {
		return nil
	}
	return fault.New(fault.Precondition, "BATCH_NOT_OPEN", "The batch %q is %s. Form another one, or go on stage by stage.", b.Name, b.State)
}

// In are the shares that have not left.
func (b Batch) In() []Share {
	return slices.DeleteFunc(slices.Clone(b.Shares), func(s Share) bool { return !s.Left.IsZero() })
}

// Until are the shares of work that ended at an instant: of stages that had not left before.
func (b Batch) Until(at time.Time) []Share {
	return slices.DeleteFunc(slices.Clone(b.Shares), func(s Share) bool { return !s.Left.IsZero() && s.Left.Before(at) })
}

// Pieces are those whose stages are, or were, in the batch, each once.
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

// Stages are those that are in the batch.
func (b Batch) Stages() (out []id.ID) {
	for _, s := range b.In() {
		out = append(out, s.Stage)
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

// end ends the batch, not before it was formed.
func (b *Batch) end(as BatchState, at time.Time) {
	b.State, b.EndedAt = as, latest(at, b.FormedAt)
	b.Version++
}
