package workflow

import (
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Outside is work that others do: upholstery, caning, stone. While a part is out nobody works
// on it here.
//
//	send out ─▶ out ─ receive ─▶ back: what it cost is the piece's, its stage is finished
//	           │ ▲ └─ receive, called off ─▶ called off: it came back undone
//	           └─┘ chase, which may make it due on another day
//	back, called off ─ correct the bill ─▶ as it was
//
// Of what is back, and was neither quoted nor billed, the bill is yet to come. It is entered like a
// correction, and may be zero.
//
// What comes before its stage may be sent back while it is out; the stage then stays open
// when it is back, as it would if it had been finished and sent back with it.
type Outside struct {
	ID        id.ID
	Piece     id.ID
	PieceTag  int32
	Part      id.ID // id.Nil: the whole piece
	PartLabel string
	Kind      string
	Firm      string
	Quoted    *money.Amount // nil: nobody did
	SentAt    time.Time
	Due       time.Time // midnight in UTC of the day
	Stage     id.ID     // that it does; id.Nil: none
	State     OutsideState
	BackAt    time.Time     // zero: it is out
	Billed    *money.Amount // nil: nothing, or of what is back, that its bill is yet to come
	Pass      int32         // of the stage when it came back; without one it is 1
	Chases    []Chase       // oldest first
}

// OutsideState is what outside work is.
type OutsideState string

// The states of outside work.
const (
	Out       OutsideState = "out"
	Back      OutsideState = "back"
	CalledOff OutsideState = "called off"
)

// Chase is somebody asking after what is out.
type Chase struct {
	ID    id.ID
	At    time.Time
	Actor string
	Note  string
	Due   time.Time // from then on; zero: as before
}

// work names it for people.
func (o Outside) work() string { return strings.ReplaceAll(o.Kind, "_", " ") }

// back is the refusal to wait for what is back.
func (o Outside) back() error {
	return fault.New(fault.Precondition, "OUTSIDE_WORK_BACK", "The %s by %s is %s since %s. If its bill was wrong, correct that.", o.work(), o.Firm, o.State, said(o.BackAt))
}

// Chase notes that somebody asked after it. Faults: OUTSIDE_WORK_BACK, DUE_BEFORE_SENT,
// DATE_ABSURD, CHASE_BEFORE_SENT.
func (o *Outside) Chase(c Chase) error {
	switch {
	case o.State != Out:
		return o.back()
	case before(c.At, o.SentAt):
		return fault.New(fault.Invalid, "CHASE_BEFORE_SENT", "It was only sent out on %s, so nobody asked after it on %s; check the time.", saidLike(o.SentAt, c.At), said(c.At)).At("chase_time")
	}
	if !c.Due.IsZero() {
		if err := checkDue(c.Due, o.SentAt.In(c.At.Location()), c.At); err != nil {
			return err
		}
		o.Due = c.Due
	}
	o.Chases = append(o.Chases, c)
	return nil
}

// Overdue reports whether it is out and was due before a day.
func (o Outside) Overdue(today time.Time) bool { return o.State == Out && o.Due.Before(today) }

// Receipt is outside work that comes back.
type Receipt struct {
	Billed    *money.Amount // nil: nobody said
	CalledOff bool
	At        time.Time
}

// Receive takes outside work back, of a piece that was given up too, for it was billed. What
// it cost is what somebody says, or what was quoted for work that was done; its parts are in
// the shop again. Faults: OUTSIDE_WORK_BACK, BACK_BEFORE_SENT.
func (p *Plan) Receive(o *Outside, r Receipt) error {
	switch {
	case o.State != Out:
		return o.back()
	case before(r.At, o.SentAt):
		return fault.New(fault.Invalid, "BACK_BEFORE_SENT", "It was only sent out on %s, so it was not back on %s; check the time.", saidLike(o.SentAt, r.At), said(r.At)).At("receive_time")
	}
	o.State, o.BackAt, o.Billed = Back, latest(r.At, o.SentAt), r.Billed
	if r.CalledOff {
		o.State = CalledOff
	} else if o.Billed == nil {
		o.Billed = o.Quoted
	}
	if s, err := p.Stage(o.Stage); err == nil {
		o.Pass = s.Pass()
	}
	p.Away = slices.DeleteFunc(p.Away, func(part id.ID) bool { return o.Part == id.Nil || part == o.Part })
	p.Piece.Version++
	return nil
}

// Done finishes the stage that outside work did; nil where it did none, or where the stage
// stays open: it was called off, the piece was given up, or what comes before it was sent back
// meanwhile. Others' work leaves nothing to dry here; last is the last work here in the
// stage's pass. Faults: TIME_BEFORE_INTAKE, FINISH_BEFORE_WORK.
func (p *Plan) Done(o Outside, last Entry) (*Stage, error) {
	if o.Stage == id.Nil || o.State != Back || p.Piece.Scrapped {
		return nil, nil
	}
	s, err := p.Stage(o.Stage)
	if err != nil || s.Finished() || len(p.openBefore(*s)) > 0 {
		return nil, err
	}
	return s, p.end(s, o.BackAt, last)
}

// Bill is what was billed; nothing is zero.
func (o Outside) Bill() money.Amount {
	if o.Billed == nil {
		return 0
	}
	return *o.Billed
}

// Unbilled reports whether it is back, done, and its bill is yet to come.
func (o Outside) Unbilled() bool { return o.State == Back && o.Billed == nil }

// CorrectBill puts another amount in the place of what was billed, or the first one. Faults:
// OUTSIDE_WORK_NOT_BACK, CORRECTION_CHANGES_NOTHING.
func (o *Outside) CorrectBill(billed money.Amount) error {
	switch {
	case o.State == Out:
		return fault.New(fault.Precondition, "OUTSIDE_WORK_NOT_BACK", "The %s by %s is not back yet, so there is no bill to correct. Say what was billed when it comes back.", o.work(), o.Firm)
	case !o.Unbilled() && o.Bill() == billed:
		return fault.New(fault.Invalid, "CORRECTION_CHANGES_NOTHING", "That is what was billed already. Give the amount that is right.").At("billed")
	}
	o.Billed = &billed
	return nil
}
