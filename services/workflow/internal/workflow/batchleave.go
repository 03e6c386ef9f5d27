package workflow

import (
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Leave takes a stage that was finished by itself out of the batch, in which the others keep
// their weights; the last one ends it.
func (b *Batch) Leave(stage id.ID, at time.Time) {
	if len(b.In()) == 1 {
		b.end(BatchFinished, at)
		return
	}
	b.leave(stage, at)
}

// leave notes since when a stage is in it no more. That may be told to lie before it was formed,
// for a batch may be written down after the work.
func (b *Batch) leave(stage id.ID, at time.Time) {
	b.Shares = slices.Clone(b.Shares)
	for i := range b.Shares {
		if b.Shares[i].Stage == stage {
			b.Shares[i].Left = at
		}
	}
}

// Share is that of a stage, which is or was in the batch.
func (b Batch) Share(stage id.ID) Share {
	return b.Shares[slices.IndexFunc(b.Shares, func(s Share) bool { return s.Stage == stage })]
}

// TakeOut takes a stage out that is not finished and at which nobody is on the clock; onIt are
// people who are. With the last one the batch is dissolved. Fault: STAGE_HAS_OPEN_CLOCK.
func (b *Batch) TakeOut(s Stage, onIt []string, at time.Time) error {
	if len(onIt) > 0 {
		names := strings.Join(onIt, ", ")
		return fault.New(fault.Precondition, "STAGE_HAS_OPEN_CLOCK", "Still on the clock at %s: %s. Clock off first, then take it out of the batch %q.", s.Title(), names, b.Name).With("people", names)
	}
	if len(b.In()) == 1 {
		b.end(BatchDissolved, at)
		return nil
	}
	b.leave(s.ID, at)
	b.Version++
	return nil
}

// DropScrapped takes the stages of scrapped pieces out of an open batch, and gives them; pieces
// are those of the batch. Fault: BATCH_NOT_OPEN, also if no other stage is left.
func (b *Batch) DropScrapped(pieces map[id.ID]Piece, at time.Time) (gone []Share, err error) {
	if err := b.open(); err != nil {
		return nil, err
	}
	in := b.In()
	for _, s := range in {
		if pieces[s.Piece].Scrapped {
			gone = append(gone, s)
		}
	}
	if len(gone) == len(in) {
		return nil, fault.New(fault.Precondition, "BATCH_NOT_OPEN", "Nothing is left of the batch %q: all pieces in it were scrapped. Dissolve it, and form another one.", b.Name)
	}
	for _, s := range gone {
		b.leave(s.Stage, at)
	}
	return gone, nil
}

// InBatch refuses to take a stage out of a batch that it is not in. Fault: STAGE_NOT_IN_BATCH.
func (s Stage) InBatch() error {
	if s.Batch != id.Nil {
		return nil
	}
	return fault.New(fault.Precondition, "STAGE_NOT_IN_BATCH", "%s is in no batch, so there is nothing to take it out of.", s.Title()).At("stage")
}

// Leave takes a finished stage out of the batch that it was run in, and gives that; id.Nil:
// it was in none.
func (s *Stage) Leave() (batch id.ID) {
	if s.Finished() {
		batch, s.Batch = s.Batch, id.Nil
	}
	return batch
}
