package workflow

import (
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Sending is work that is to be given to others.
type Sending struct {
	Part   id.ID // id.Nil: all
	Kind   string
	Firm   string
	Quoted *money.Amount
	Due    time.Time // midnight in UTC of the day
	Stage  id.ID     // id.Nil: none
	At     time.Time
}

// Sent is work that was given to others, and how its parts went there from where they stood.
type Sent struct {
	Outside
	Move
}

// SendOut gives parts of the piece to others, from where they stand. Faults: PIECE_SCRAPPED,
// PART_UNKNOWN, PART_AWAY, STAGE_HAS_OPEN_CLOCK, TIME_BEFORE_INTAKE, MOVE_BEFORE_LAST,
// PART_NOT_READY, DUE_BEFORE_SENT, DATE_ABSURD, those of a stage: STAGE_NOT_FOUND,
// STAGE_FINISHED, STAGE_NOT_READY, INSPECTION_DUE.
func (p *Plan) SendOut(s Sending, w Whereabouts, newID func() id.ID) (Sent, error) {
	if p.Piece.Scrapped {
		return Sent{}, p.Piece.scrapped()
	}
	parts, err := p.going(s, w)
	if err != nil {
		return Sent{}, err
	}
	if s.Stage != id.Nil {
		if err := p.does(s); err != nil {
			return Sent{}, err
		}
	}
	if err := p.dryFor(parts, s.At); err != nil {
		return Sent{}, err
	}
	if err := checkDue(s.Due, s.At, s.At); err != nil {
		return Sent{}, err
	}
	p.Piece.Version++
	o := Outside{ID: newID(), Piece: p.Piece.ID, PieceTag: p.Piece.Tag, Part: s.Part, Kind: s.Kind, Firm: s.Firm, Quoted: s.Quoted, SentAt: s.At, Due: s.Due,
		Stage: s.Stage, State: Out, Pass: 1}
	if s.Part != id.Nil {
		o.PartLabel = parts[0].Label
	}
	m := w.move(p.Piece, parts, nil, s.At, newID)
	m.Parts = parts // those too that stood nowhere
	for _, part := range parts {
		m.Begun = append(m.Begun, w.goes(o, part, newID()))
	}
	return Sent{o, m}, nil
}

// going are the parts that go out: the one that is named, or all.
func (p *Plan) going(s Sending, w Whereabouts) ([]Part, error) {
	if err := p.Piece.there(s.At, "send_time"); err != nil {
		return nil, err
	}
	parts := w.all()
	if s.Part != id.Nil {
		parts = slices.DeleteFunc(slices.Clone(parts), func(other Part) bool { return other.ID != s.Part })
	}
	if len(parts) == 0 {
		return nil, unknownPart(p.Piece).At("part")
	}
	for _, part := range parts {
		if err := p.mayGo(part, s.At, w); err != nil {
			return nil, err
		}
	}
	return parts, nil
}

// mayGo refuses a part that others have already, that somebody here has under their hands, or
// that came where it stands later than it is to have gone.
func (p *Plan) mayGo(part Part, at time.Time, w Whereabouts) error {
	if w.away(part.ID) {
		with := w.of(part.ID)
		return fault.New(fault.Precondition, "PART_AWAY", "%s is with %s already. Receive it first.", named([]Placement{*with}), with.Firm).At("part")
	}
	for _, s := range p.Stages {
		if len(p.OnIt[s.ID]) > 0 && touches(part.ID, s) {
			return p.onTheClock(s)
		}
	}
	if since := w.since(part.ID); before(at, since) {
		return fault.New(fault.Invalid, "MOVE_BEFORE_LAST", "Since %s %s is where it is, so it was not sent out on %s; check the time.",
			saidLike(since, at), Stage{Part: part.ID, PartLabel: part.Label}.where(), said(at)).At("send_time")
	}
	return nil
}

// goes is the placement of a part with others: from when it is sent on, or from right after it
// came where it stands, if that was later in the same minute.
func (w Whereabouts) goes(o Outside, part Part, placement id.ID) Placement {
	from := latest(o.SentAt.UTC(), w.since(part.ID))
	if own := w.last(part.ID); own != nil && own.Open() {
		from = rightAfter(from, own.From)
	}
	return Placement{ID: placement, Piece: o.Piece, PieceTag: o.PieceTag, Part: part.ID, PartLabel: part.Label, Takes: part.Count, Outside: o.ID, Firm: o.Firm, From: from}
}

// dryFor refuses to load what a hand or a blanket would mark or break: a film that is not as
// hard as it must be for paper, wet wood, glue that has not set. What only cures may go. Nothing
// overrides it: a film that somebody felt to be dry is dry. Common practice. Fault:
// PART_NOT_READY.
func (p *Plan) dryFor(parts []Part, at time.Time) error {
	var last *DryClock
	for i := range p.Clocks {
		c := &p.Clocks[i]
		goes := slices.ContainsFunc(parts, func(part Part) bool { return touches(c.Part, Stage{Part: part.ID}) })
		if goes && !p.cures(*c) && (last == nil || later(c.handled(), last.handled())) {
			last = c
		}
	}
	if last == nil || !last.handled().IsZero() && !before(at, last.handled()) {
		return nil
	}
	return last.unfit(at)
}

// cures reports whether a clock counts what a stage gave a dry film to cure.
func (p *Plan) cures(c DryClock) bool {
	s, err := p.Stage(c.Stage)
	return err == nil && finish.Kind(s.Kind) == finish.Cure
}

// handled is from when on it can be handled and wrapped; zero: never, in this air.
func (c DryClock) handled() time.Time { return c.Reaches(finish.NeedsSand).Likely }

// unfit is the refusal to load it at an instant.
func (c DryClock) unfit(at time.Time) error {
	felt := ""
	if c.Kind == FilmDries {
		felt = " If somebody felt that it is dry, write that down first."
	}
	ready := c.handled()
	if ready.IsZero() {
		return fault.New(fault.Precondition, "PART_NOT_READY", "In the air where it stands, what %s left there will never be dry enough to be wrapped and loaded. Warm or dry that air or carry it elsewhere.%s",
			c.StageTitle, felt)
	}
	return fault.New(fault.Precondition, "PART_NOT_READY", "What %s left there still dries, and likely is dry enough to be wrapped and loaded on %s. Send it out then.%s",
		c.StageTitle, saidLike(ready, at), felt).With("ready_time", ready.UTC().Format(time.RFC3339))
}

// longestOut is the longest time, in years, after which anybody means to have something back;
// what is due later is a slip. Common practice.
const longestOut = 5

// checkDue refuses a day on which what was sent out cannot be due: it was over when it went, or
// lies absurdly long after it was told. Faults: DUE_BEFORE_SENT, DATE_ABSURD.
func checkDue(due, sent, told time.Time) error {
	switch {
	case due.Before(dayOf(sent)):
		return fault.New(fault.Invalid, "DUE_BEFORE_SENT", "It is sent out on %s and cannot be due on %s; check the day.", saidDay(dayOf(sent)), saidDay(due)).At("due_date")
	case due.After(dayOf(told).AddDate(longestOut, 0, 0)):
		return fault.New(fault.Invalid, "DATE_ABSURD", "%s is more than %d years after %s; nobody waits so long. Check the day.", saidDay(due), longestOut, saidDay(dayOf(told))).At("due_date")
	}
	return nil
}

// does refuses a stage that cannot be done outside now.
func (p *Plan) does(s Sending) error {
	stage, err := p.mayEnd(s.Stage)
	if err != nil {
		return err
	}
	switch {
	case stage.inspects():
		return fault.New(fault.Precondition, "INSPECTION_DUE", "%s is an inspection, which is done here. Send the part out for a stage that others do, or for none.", stage.Title()).At("stage")
	case s.Part != id.Nil && !touches(s.Part, *stage):
		return fault.New(fault.Invalid, "PART_UNKNOWN", "%s is not a stage of the part that goes out. Send out its own part, or name no stage.", stage.Title()).At("part")
	}
	return nil
}
