package workflow

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Change says how a closed stretch should have been. A zero time is "as it was"; what it is
// on, and the person, are always said.
type Change struct {
	Start, End time.Time
	Stage      Stage // of Indirect and of a batch: none
	Piece      Piece
	Indirect   string
	Person     Person
	Batch      []OnStage // of a batch: what its entries are on, in their order
}

// OnStage is a stage and its piece.
type OnStage struct {
	Stage Stage
	Piece Piece
}

// Correct makes the entries that replace those of a closed stretch, each the one at its
// place, and names who and why. The entries themselves are superseded. Faults:
// CLOCK_STILL_OPEN, CLOCK_SUPERSEDED, CLOCK_ENDS_BEFORE_START, CLOCK_TOO_LONG, CLOCK_TOO_SHORT,
// CORRECTION_CHANGES_NOTHING, BATCH_ENTRY, PERSON_INACTIVE and SKILL_MISSING for something else,
// TIME_BEFORE_INTAKE, PIECE_SCRAPPED for another stage or a later end.
func Correct(stretch []Entry, c Change, newID func() id.ID, actor, reason string, now time.Time) ([]Entry, error) {
	if err := Void(stretch, actor, reason, now); err != nil {
		return nil, err
	}
	fresh := make([]Entry, len(stretch))
	first := id.Nil
	for i, e := range stretch {
		n := e
		n.ID, n.Corrects, n.Superseded, n.Actor, n.Reason = newID(), e.ID, false, actor, reason
		n.SupersededBy, n.SupersededAt, n.SupersededReason = "", time.Time{}, ""
		if i == 0 {
			first = n.ID
		}
		if e.Stretch != id.Nil {
			n.Stretch = first
		}
		fresh[i] = n
	}
	start, end := stretch[0].Whole()
	if !c.Start.IsZero() {
		start = c.Start
	}
	if !c.End.IsZero() {
		end = c.End
	}
	if err := (Entry{Start: start, End: end}).checkLength(); err != nil {
		return nil, err
	}
	if err := lay(fresh, start, end); err != nil {
		return nil, err
	}
	return fresh, c.put(stretch, fresh)
}

// Whole is from when to when the stretch goes that the entry is, or is part of.
func (e Entry) Whole() (start, end time.Time) {
	if e.Stretch != id.Nil {
		return e.StretchStart, e.StretchEnd
	}
	return e.Start, e.End
}

// put puts fresh entries on what they are on, and refuses what cannot be so.
func (c Change) put(old, fresh []Entry) error {
	start, _ := fresh[0].Whole()
	before, after := old[0], &fresh[0]
	moved := c.Indirect != before.Indirect || (c.Stage.ID != id.Nil && c.Stage.ID != before.Stage)
	switch {
	case moved && before.Batch != id.Nil:
		return fault.New(fault.Invalid, "BATCH_ENTRY", "This entry is one of a batch that was worked on as one. Take the stretch away, and write down each stage by itself.").At("replacement.stage")
	case !moved && sameTimes(old, fresh):
		return fault.New(fault.Invalid, "CORRECTION_CHANGES_NOTHING", "The correction leaves start, end and stage as they are.").At("replacement")
	case before.Batch != id.Nil:
		return c.putBatch(old, fresh)
	}
	after.moveTo(c.Piece, c.Stage)
	after.Indirect = c.Indirect
	if moved {
		if err := c.Person.may(c.Stage, start); err != nil { // of what belongs to no piece: only whether they were there
			return err
		}
	}
	if c.Indirect != "" {
		return nil
	}
	if moved || longer(old, fresh) {
		if err := c.Piece.scrappedBefore(after.End); err != nil {
			return err
		}
	}
	return c.Piece.there(start, "replacement.start_time")
}

// longer reports whether a stretch goes on for longer than it did.
func longer(old, fresh []Entry) bool {
	_, was := old[0].Whole()
	_, end := fresh[0].Whole()
	return end.After(was)
}

// putBatch puts the entries of a stretch on a batch on their stages, each in the pass in which
// it now begins.
func (c Change) putBatch(old, fresh []Entry) error {
	_, end := fresh[0].Whole()
	for i, on := range c.Batch {
		fresh[i].moveTo(on.Piece, on.Stage)
		if longer(old, fresh) {
			if err := on.Piece.scrappedBefore(end); err != nil {
				return OfPiece(err, on.Piece.Tag)
			}
		}
		if err := on.Piece.there(fresh[i].Start, "replacement.start_time"); err != nil {
			return err
		}
	}
	return nil
}

func sameTimes(a, b []Entry) bool {
	s1, e1 := a[0].Whole()
	s2, e2 := b[0].Whole()
	return s1.Equal(s2) && e1.Equal(e2)
}

// Void takes the entries of a closed stretch away. Faults: CLOCK_STILL_OPEN, CLOCK_SUPERSEDED.
func Void(stretch []Entry, actor, reason string, now time.Time) error {
	for i := range stretch {
		if err := stretch[i].supersede(); err != nil {
			return err
		}
		stretch[i].SupersededBy, stretch[i].SupersededReason, stretch[i].SupersededAt = actor, reason, now
	}
	return nil
}

func (e *Entry) supersede() error {
	switch {
	case e.Superseded && e.ReplacedBy == id.Nil:
		return fault.New(fault.Precondition, "CLOCK_SUPERSEDED",
			"This entry was taken away, and there is none in its place to correct. If the work was done after all, write it down with its start and its end.")
	case e.Superseded:
		return fault.New(fault.Precondition, "CLOCK_SUPERSEDED", "This entry was already corrected; correct the one that replaced it.").
			With("replaced_by", e.ReplacedBy.String())
	case e.Open():
		return fault.New(fault.Precondition, "CLOCK_STILL_OPEN", "%s is still on the clock with this entry; clock off first, at the right time.", e.PersonName)
	}
	e.Superseded = true
	return nil
}
