package workflow

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// HandOver gives a stage from one person to another in the middle of it, at an instant: the
// other has it in the place of the one. on is what the one is on the clock with at this stage;
// nil: they are not. Faults: STAGE_NOT_FOUND, PIECE_SCRAPPED, STAGE_FINISHED, SAME_PERSON,
// NOT_ON_STAGE, STAGE_IN_BATCH, PERSON_INACTIVE, SKILL_MISSING, TOO_MANY_HANDS.
func (p *Plan) HandOver(stage id.ID, from, to Person, on *Entry, at time.Time) (*Stage, error) {
	s, err := p.open(stage)
	if err != nil {
		return nil, err
	}
	switch {
	case from.ID == to.ID:
		return nil, fault.New(fault.Invalid, "SAME_PERSON", "%s cannot hand %s over to themselves; name the one who goes on with it.", from.Name, s.Title()).At("to")
	case on == nil && !s.Theirs(from.ID):
		return nil, fault.New(fault.Precondition, "NOT_ON_STAGE", "%s does not have %s and is not on the clock at it; %s has it. Hand it over from who has it, or assign it.",
			from.Name, s.Title(), s.heldBy())
	case on != nil && on.Batch != id.Nil:
		return nil, fault.New(fault.Precondition, "STAGE_IN_BATCH", "%s is on the clock at a batch that %s is in. Clock off the batch first; then hand it over.", from.Name, s.Title())
	}
	if err := to.may(*s, at); err != nil {
		return nil, err
	}
	if err := s.pass(from, to); err != nil {
		return nil, err
	}
	p.Piece.Version++
	return s, nil
}

// pass puts one person in the place of another among those who have the stage; who only was
// on the clock at it had no place, and the other comes beside.
func (s *Stage) pass(from, to Person) error {
	var hands []Helper
	there := s.Theirs(to.ID)
	for _, h := range s.hands() {
		switch {
		case h.ID != from.ID:
			hands = append(hands, h)
		case !there:
			hands = append(hands, Helper{to.ID, to.Name})
		}
	}
	s.give(hands...)
	return s.giveTo(to, true)
}
