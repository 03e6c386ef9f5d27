package workflow

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Change says how a closed entry should have been. A zero time is "as it was"; the stage,
// its piece and the person are always said.
type Change struct {
	Start, End time.Time
	Stage      Stage
	Piece      Piece
	Person     Person
}

// Correct makes the entry that replaces a closed one and names who and why. The entry
// itself is superseded. Faults: CLOCK_STILL_OPEN, CLOCK_SUPERSEDED,
// CLOCK_ENDS_BEFORE_START, CLOCK_TOO_LONG, CORRECTION_CHANGES_NOTHING, SKILL_MISSING for
// another stage, TIME_BEFORE_INTAKE.
func (e *Entry) Correct(c Change, entry id.ID, actor, reason string) (Entry, error) {
	if err := e.supersede(); err != nil {
		return Entry{}, err
	}
	n := *e
	n.ID, n.Corrects, n.Superseded, n.Actor, n.Reason = entry, e.ID, false, actor, reason
	if !c.Start.IsZero() {
		n.Start = c.Start
	}
	if !c.End.IsZero() {
		n.End = c.End
	}
	n.moveTo(c.Piece, c.Stage)
	return n, e.checkChange(c, n)
}

// checkChange refuses what the entry cannot be replaced by.
func (e *Entry) checkChange(c Change, n Entry) error {
	if err := n.checkLength(); err != nil {
		return err
	}
	switch moved := n.Stage != e.Stage; {
	case n.Start.Equal(e.Start) && n.End.Equal(e.End) && !moved:
		return fault.New(fault.Invalid, "CORRECTION_CHANGES_NOTHING", "The correction leaves start, end and stage as they are.").At("replacement")
	case moved && !c.Person.Can(c.Stage.Skill):
		return lacks(c.Person, c.Stage)
	}
	return c.Piece.there(n.Start, "replacement.start_time")
}

// Void takes a closed entry away. Faults: CLOCK_STILL_OPEN, CLOCK_SUPERSEDED.
func (e *Entry) Void() error { return e.supersede() }

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
