package workflow

import (
	"fmt"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Entry is a stretch of one person's time on one stage, or on what belongs to no piece.
type Entry struct {
	ID         id.ID
	Person     id.ID
	PersonName string
	Piece      id.ID // id.Nil: none
	PieceTag   int32
	Stage      id.ID
	StageKey   string
	StageKind  string
	PartLabel  string
	Pass       int32
	Indirect   string // cleaning, training …; empty: it is on a stage
	Start      time.Time
	End        time.Time // zero while the clock runs
	Corrects   id.ID     // id.Nil: it corrects none
	ReplacedBy id.ID     // the entry that corrects it; id.Nil: none
	Superseded bool
	Actor      string
	Reason     string

	Batch                    id.ID  // id.Nil: none
	BatchName                string // empty: not asked for
	Stretch                  id.ID  // the first entry of a stretch on a batch; id.Nil: it is all of its own
	StretchStart, StretchEnd time.Time
	Weight                   int64 // its share of the stretch, by the sum of all
	Held                     bool  // it runs beside the first entry of its stretch, and has no times of its own yet

	Station     id.ID // where; id.Nil: nobody said
	StationWord string
	Paused      bool
	Device      string // what sent it; empty: it was given at once
	Skew        time.Duration

	// Of one that no longer counts: who said so, when and why.
	SupersededBy     string
	SupersededAt     time.Time
	SupersededReason string
	Forgotten        id.ID // the open review of it, whose shift was over; id.Nil: none
}

// Open reports whether the clock runs.
func (e Entry) Open() bool { return e.End.IsZero() }

// On names what the entry is on, for people: "sand (top) of piece 7", "the batch "Fronts"" as
// long as it runs there and its name was asked for, or "cleaning".
func (e Entry) On() string {
	switch {
	case e.Indirect != "":
		return strings.ReplaceAll(e.Indirect, "_", " ")
	case e.Open() && e.BatchName != "":
		return fmt.Sprintf("the batch %q", e.BatchName)
	}
	return fmt.Sprintf("%s of piece %d", Stage{Key: e.StageKey, PartLabel: e.PartLabel}.Title(), e.PieceTag)
}

// Facts is what a clock-on is decided from.
type Facts struct {
	Piece      Piece
	Stage      Stage
	Person     Person
	OpenBefore []string // titles of unfinished stages before it
	Other      *Entry   // another entry of the person's at these times; the open one, if one is
	Ground     Ground
	Read       []string // ids of its cautions that the person had read in this pass
	Away       bool     // the part, or one of the piece's, is outside the shop
	Vouched    bool     // the lead says that it was done: skill and days of the person, and a scrapping, are not asked
	Sent       bool     // a device kept it, and nobody vouches for it: what stands against it is asked as far as that can still be told
	Said       []string // of a sent one: ids of cautions that the person says to have read
}

// Start is a clock-on as it is asked for.
type Start struct {
	Entry    id.ID
	At       time.Time
	Actor    string
	Read     []string // ids of cautions that the person says to have read
	Override string   // why it starts although the part or the air is not ready; empty: it is to be
}

// Started is a clock-on as it was done: of a batch one of several.
type Started struct {
	Entry      Entry
	Read       []string // what the person now said to have read
	AllRead    []string // with what they said before in this pass
	Override   string   // empty: nothing had to be overridden
	Overridden []string // reasons of the refusals there would have been
	Carried    *Move    // what is carried to its station; nil: nothing, or with another stage of the piece
}

// ClockOn begins an entry on a stage. Faults: CLOCK_OPEN, PIECE_SCRAPPED, STAGE_FINISHED,
// STAGE_NOT_READY, STAGE_OF_ANOTHER, PART_AWAY, PERSON_INACTIVE, SKILL_MISSING,
// TIME_BEFORE_INTAKE, CLOCK_OVERLAP; those of Ground.MayStart; CAUTION_UNKNOWN,
// CAUTIONS_NOT_ACKNOWLEDGED.
func ClockOn(f Facts, start Start) (Started, error) {
	if err := f.mayStart(start.At); err != nil {
		return Started{}, err
	}
	done := Started{Entry: f.entry(start.Entry, start.At, start.Actor)}
	var err error
	if done.Overridden, err = f.Ground.MayStart(f.Stage, start.At, start.Override); err != nil {
		return Started{}, err
	}
	if len(done.Overridden) > 0 {
		done.Override = start.Override
	}
	if done.Read, done.AllRead, err = f.read(start.Read); err != nil {
		return Started{}, err
	}
	return done, nil
}

// mayStart refuses what has nothing to do with the part's state.
func (f Facts) mayStart(at time.Time) error {
	if err := f.Other.running(f.Person); err != nil {
		return err
	}
	switch s := f.Stage; {
	case f.Piece.Scrapped:
		return f.Piece.scrapped()
	case s.Finished():
		return finished(s)
	case len(f.OpenBefore) > 0:
		return notReady(s, f.OpenBefore)
	case !s.Has(f.Person.ID):
		return ofAnother(s, s.AssignedTo, f.Person)
	case f.Away:
		return away(s)
	}
	if err := f.Person.may(f.Stage, at); err != nil {
		return err
	}
	if err := f.Piece.there(at, "start_time"); err != nil {
		return err
	}
	return f.Other.overlapped(beginAfter)
}

// beginAfter is what to do about a start at which there is an entry already.
const beginAfter = "Begin after it; or, if the work you mean is over, write it down with its start and its end."

// running refuses another clock beside one that runs; nil is none. Fault: CLOCK_OPEN.
func (e *Entry) running(p Person) error {
	if e == nil || !e.Open() {
		return nil
	}
	return fault.New(fault.Precondition, "CLOCK_OPEN", "%s is on the clock at %s since %s. Clock off there first, or switch.", p.Name, e.On(), said(e.Start)).
		With("entry", e.ID.String())
}

// away is the refusal of work on what is outside the shop.
func away(s Stage) error {
	return fault.New(fault.Precondition, "PART_AWAY", "%s has to wait: %s is outside the shop for work that others do. Start when it is back.", s.Title(), s.where())
}

func (f Facts) entry(entry id.ID, at time.Time, actor string) Entry {
	e := Entry{ID: entry, Person: f.Person.ID, PersonName: f.Person.Name, Start: at, Actor: actor}
	e.moveTo(f.Piece, f.Stage)
	return e
}

// moveTo puts the entry on a stage, in the pass in which it began.
func (e *Entry) moveTo(p Piece, s Stage) {
	e.Piece, e.PieceTag = p.ID, p.Tag
	e.Stage, e.StageKey, e.StageKind, e.PartLabel = s.ID, s.Key, s.Kind, s.PartLabel
	e.Pass = s.PassAt(e.Start)
}

// Recorded makes an entry for work that nobody clocked. That the stage is finished or somebody
// else's, or its piece was scrapped later, does not matter: the work was done. Faults:
// PERSON_INACTIVE, SKILL_MISSING, CLOCK_ENDS_BEFORE_START, CLOCK_TOO_LONG, TIME_BEFORE_INTAKE,
// PIECE_SCRAPPED, CLOCK_OVERLAP; of what a device sent those of online.
func Recorded(f Facts, entry id.ID, start, end time.Time, actor, reason string) (Entry, error) {
	if err := f.Person.may(f.Stage, start); err != nil && !f.Vouched {
		return Entry{}, err
	}
	e := f.entry(entry, start, actor)
	e.End, e.Reason = end, reason
	if err := e.checkLength(); err != nil {
		return Entry{}, err
	}
	if err := f.Piece.there(start, "start_time"); err != nil {
		return Entry{}, err
	}
	if err := f.Piece.scrappedBefore(end); err != nil && !f.Vouched {
		return Entry{}, err
	}
	if err := f.online(e); err != nil {
		return Entry{}, err
	}
	return e, e.Beside(f.Other)
}

// online refuses what a device sent and nobody could have begun at the shop. Whether the part was
// away or wet then, or the stage finished, cannot be told any more; nor what the stage waited for
// before it was last sent back. Faults: STAGE_NOT_READY, STAGE_OF_ANOTHER, LEAD_UNTESTED,
// LEAD_PRESENT, CAUTIONS_NOT_ACKNOWLEDGED.
func (f Facts) online(e Entry) error {
	switch s := f.Stage; {
	case !f.Sent:
		return nil
	case len(f.OpenBefore) > 0 && e.Pass == s.Pass():
		return notReady(s, f.OpenBefore)
	case !s.Has(f.Person.ID):
		return ofAnother(s, s.AssignedTo, f.Person)
	}
	if err := f.Ground.lead(f.Stage); err != nil {
		return err
	}
	_, _, err := f.read(f.Stage.Known(f.Said))
	return err
}

// longest is the longest stretch that anybody works at once; what is longer was forgotten.
const longest = 24 * time.Hour

func (e Entry) checkLength() error {
	switch length := e.End.Sub(e.Start); {
	case length <= 0:
		return fault.New(fault.Invalid, "CLOCK_ENDS_BEFORE_START", "The end, %s, is not after the start, %s.", said(e.End), said(e.Start)).At("end_time")
	case length > longest:
		return fault.New(fault.Invalid, "CLOCK_TOO_LONG",
			"That is %s hours without a break, since %s; one entry can be %s long. Say when the work really ended.", hours(length), said(e.Start), hours(longest)).At("end_time")
	}
	return nil
}

// Beside refuses an entry at whose times the person has another one that counts; nil is
// none. Fault: CLOCK_OVERLAP.
func (e Entry) Beside(other *Entry) error {
	return other.overlapped("Give other times, or correct that entry first.")
}

// overlapped is the refusal of times at which the entry lies, with what to do; of none, nil.
func (e *Entry) overlapped(advice string) error {
	if e == nil {
		return nil
	}
	return fault.New(fault.Precondition, "CLOCK_OVERLAP", "%s is down for %s %s, which overlaps these times. %s",
		e.PersonName, e.On(), e.Times(), advice).With("entry", e.ID.String())
}

// Times are the entry's times in words.
func (e Entry) Times() string {
	if e.Open() {
		return "since " + said(e.Start)
	}
	return "from " + said(e.Start) + " to " + said(e.End)
}
