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
	PieceTag   int32
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
			"%s is on the clock at %s of piece %d since %s. Clock off there first.", f.Person.Name, f.Running.StageTitle, f.Running.PieceTag, said(f.Running.Start)).
			With("entry", f.Running.ID.String())
	case f.Piece.Scrapped:
		return Entry{}, f.Piece.scrapped()
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
	return f.entry(entry, at, actor), nil
}

func (f Facts) entry(entry id.ID, at time.Time, actor string) Entry {
	return Entry{ID: entry, Person: f.Person.ID, PersonName: f.Person.Name, Piece: f.Piece.ID, PieceTag: f.Piece.Tag,
		Stage: f.Stage.ID, StageKind: f.Stage.Kind, StageTitle: f.Stage.Title(), Pass: f.Stage.Pass, Start: at, Actor: actor}
}

// Record makes an entry for work that nobody clocked. That the stage is finished, or its
// piece scrapped or somebody else's, does not matter: the work was done. Faults:
// SKILL_MISSING, CLOCK_ENDS_BEFORE_START, CLOCK_TOO_LONG.
func Record(f Facts, entry id.ID, start, end time.Time, actor, reason string) (Entry, error) {
	if !f.Person.Can(f.Stage.Skill) {
		return Entry{}, lacks(f.Person, f.Stage)
	}
	e := f.entry(entry, start, actor)
	e.End, e.Reason = end, reason
	return e, e.checkLength()
}

// ClockOff ends an open entry. Faults: CLOCK_ENDS_BEFORE_START, CLOCK_TOO_LONG.
func (e *Entry) ClockOff(at time.Time) error {
	e.End = at
	return e.checkLength()
}

// longest is the longest stretch that anybody works at once; what is longer was forgotten.
const longest = 24 * time.Hour

func (e *Entry) checkLength() error {
	switch length := e.End.Sub(e.Start); {
	case length <= 0:
		return fault.New(fault.Invalid, "CLOCK_ENDS_BEFORE_START", "The end, %s, is not after the start, %s.", said(e.End), said(e.Start)).At("end_time")
	case length > longest:
		return fault.New(fault.Invalid, "CLOCK_TOO_LONG",
			"That is %.0f hours without a break, since %s. Say when the work really ended.", length.Hours(), said(e.Start)).At("end_time")
	}
	return nil
}

// said is an instant in words, in whatever zone it comes.
func said(t time.Time) string { return t.Format("Mon 2 Jan 2006 15:04 MST") }

// Change says how a closed entry should have been; a zero value is "as it was".
type Change struct {
	Start, End time.Time
	Stage      *Stage
	Piece      Piece // of Stage
}

// Correct makes the entry that replaces a closed one and names who and why. The entry
// itself is superseded. Faults: CLOCK_STILL_OPEN, CLOCK_SUPERSEDED,
// CLOCK_ENDS_BEFORE_START, CLOCK_TOO_LONG, CORRECTION_CHANGES_NOTHING.
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
		n.Piece, n.PieceTag, n.Stage, n.StageKind, n.StageTitle = c.Piece.ID, c.Piece.Tag, c.Stage.ID, c.Stage.Kind, c.Stage.Title()
		n.Pass = min(e.Pass, c.Stage.Pass) // what was no rework does not become it
	}
	if err := n.checkLength(); err != nil {
		return Entry{}, err
	}
	if n.Start.Equal(e.Start) && n.End.Equal(e.End) && n.Stage == e.Stage {
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
