package workflow

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Batch are stages of several pieces that are run as one.
//
//	form ─▶ open ─ finish ─▶ finished
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
