package workflow

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Entry is a stretch of one person's time on one stage.
type Entry struct {
	ID         id.ID
	Person     id.ID
	PersonName string
	Piece      id.ID
	Stage      id.ID
	StageKind  string
	StageTitle string
	Pass       int32
	Start      time.Time
	End        time.Time // zero while the clock runs
	Corrects   id.ID     // id.Nil: it corrects none
	Superseded bool
	Actor      string
	Reason     string
}

// Open reports whether the clock runs.
func (e Entry) Open() bool { return e.End.IsZero() }

// Facts is what a clock-on is decided from.
type Facts struct {
	Piece      Piece
	Stage      Stage
	Person     Person
	OpenBefore []string // titles of unfinished stages before it
	Running    *Entry   // what the person is on the clock at now
}

// ClockOn begins an entry. Faults: CLOCK_OPEN, PIECE_SCRAPPED, STAGE_FINISHED,
// STAGE_NOT_READY, STAGE_OF_ANOTHER, SKILL_MISSING. Overlap with earlier entries is for
// the database to see, which sees all of them.
func ClockOn(f Facts, entry id.ID, at time.Time, actor string) (Entry, error) {
	switch s := f.Stage; {
	case f.Running != nil:
		return Entry{}, fault.New(fault.Precondition, "CLOCK_OPEN",
			"%s is on the clock at %s since %s. Clock off there first.", f.Person.Name, f.Running.StageTitle, f.Running.Start.Format(time.RFC3339)).
			With("entry", f.Running.ID.String())
	case f.Piece.Scrapped:
		return Entry{}, errScrapped
	case s.Finished():
		return Entry{}, finished(s)
	case len(f.OpenBefore) > 0:
		return Entry{}, notReady(s, f.OpenBefore)
	case s.Assignee != id.Nil && s.Assignee != f.Person.ID:
		return Entry{}, fault.New(fault.Precondition, "STAGE_OF_ANOTHER",
			"%s is %s's. Assign it to %s first.", s.Title(), s.AssignedTo, f.Person.Name).With("assignee", s.AssignedTo)
	case !f.Person.Can(s.Skill):
		return Entry{}, lacks(f.Person, s)
	}
	return Entry{ID: entry, Person: f.Person.ID, PersonName: f.Person.Name, Piece: f.Piece.ID,
		Stage: f.Stage.ID, StageKind: f.Stage.Kind, StageTitle: f.Stage.Title(), Pass: f.Stage.Pass, Start: at, Actor: actor}, nil
}

// ClockOff ends an open entry. Fault: CLOCK_ENDS_BEFORE_START.
func (e *Entry) ClockOff(at time.Time) error {
	if !at.After(e.Start) {
		return endsBeforeStart(e.Start, at)
	}
	e.End = at
	return nil
}

// Change says how a closed entry should have been; a zero value is "as it was".
type Change struct {
	Start, End time.Time
	Stage      *Stage
	Piece      id.ID // of Stage
}

// Correct makes the entry that replaces a closed one and names who and why. The entry
// itself is superseded. Faults: CLOCK_STILL_OPEN, CLOCK_SUPERSEDED,
// CLOCK_ENDS_BEFORE_START, CORRECTION_CHANGES_NOTHING.
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
	if c.Stage != nil && c.Stage.ID != e.Stage {
		n.Piece, n.Stage, n.StageKind, n.StageTitle, n.Pass = c.Piece, c.Stage.ID, c.Stage.Kind, c.Stage.Title(), c.Stage.Pass
	}
	switch {
	case !n.End.After(n.Start):
		return Entry{}, endsBeforeStart(n.Start, n.End)
	case n.Start.Equal(e.Start) && n.End.Equal(e.End) && n.Stage == e.Stage:
		return Entry{}, fault.New(fault.Invalid, "CORRECTION_CHANGES_NOTHING", "The correction leaves start, end and stage as they are.").At("replacement")
	}
	return n, nil
}

// Void takes a closed entry away. Faults: CLOCK_STILL_OPEN, CLOCK_SUPERSEDED.
func (e *Entry) Void() error { return e.supersede() }

func (e *Entry) supersede() error {
	switch {
	case e.Superseded:
		return fault.New(fault.Precondition, "CLOCK_SUPERSEDED", "This entry was already corrected; correct the one that replaced it.")
	case e.Open():
		return fault.New(fault.Precondition, "CLOCK_STILL_OPEN", "%s is still on the clock with this entry; clock off first, at the right time.", e.PersonName)
	}
	e.Superseded = true
	return nil
}

func endsBeforeStart(start, end time.Time) error {
	return fault.New(fault.Invalid, "CLOCK_ENDS_BEFORE_START", "The end %s is not after the start %s.",
		end.Format(time.RFC3339), start.Format(time.RFC3339)).At("end_time")
}
