package workflow

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// PlanPin is what the floor's plan keeps of a stage in its present pass.
type PlanPin struct {
	Stage  id.ID
	Pass   int32
	Person id.ID     // id.Nil: whoever can
	At     time.Time // it begins no earlier; zero: as soon as it can
}

// Pin has the plan keep a stage with somebody, nil for whoever can, at a time, zero for as soon as it can, or
// both. Whoever may not begin it is not pinned to it. Faults: STAGE_NOT_FOUND, PIECE_SCRAPPED, STAGE_FINISHED,
// NOTHING_PINNED, TIME_IN_PAST, PERSON_INACTIVE, SKILL_MISSING, STAGE_OF_ANOTHER.
func (p *Plan) Pin(stage id.ID, to *Person, at, now time.Time) (PlanPin, *Stage, error) {
	s, err := p.open(stage)
	if err != nil {
		return PlanPin{}, nil, err
	}
	pin := PlanPin{Stage: stage, Pass: s.Pass(), At: at}
	switch {
	case to == nil && at.IsZero():
		return pin, nil, fault.New(fault.Invalid, "NOTHING_PINNED", "A pin says who does %s, or when it begins, or both; give one of them.", s.Title())
	case !at.IsZero() && before(at, now):
		return pin, nil, fault.New(fault.Invalid, "TIME_IN_PAST", "%s is over, so %s cannot begin then; give a time that is to come.", said(at), s.Title()).At("start_time")
	}
	if to != nil {
		if pin.Person = to.ID; !s.Has(to.ID) {
			return pin, nil, ofAnother(*s, s.heldBy(), *to)
		}
		if err := to.may(*s, latest(at, now)); err != nil {
			return pin, nil, err
		}
	}
	p.Piece.Version++
	return pin, s, nil
}

// Unpin has the plan put a stage where it fits again; pin is the one that it has, nil for none. Faults:
// STAGE_NOT_FOUND, NOT_PINNED.
func (p *Plan) Unpin(stage id.ID, pin *PlanPin) (*Stage, error) {
	s, err := p.Stage(stage)
	if err != nil {
		return nil, err
	}
	if pin == nil || pin.Pass != s.Pass() || s.Finished() {
		return nil, fault.New(fault.Precondition, "NOT_PINNED", "%s is not pinned, so there is nothing to take away.", s.Title())
	}
	p.Piece.Version++
	return s, nil
}
