package workflow

import (
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// mostHands is how many people can have a stage at once. Common practice: more do not get
// around a piece.
const mostHands = 8

// Assign gives a stage to a person from an instant on: in the place of all who have it, or
// beside them. With nil it takes it from all. Faults: STAGE_NOT_FOUND, PIECE_SCRAPPED,
// STAGE_FINISHED, STAGE_HAS_OPEN_CLOCK (not of somebody who comes beside), PERSON_MISSING,
// PERSON_INACTIVE, SKILL_MISSING, TOO_MANY_HANDS.
func (p *Plan) Assign(stage id.ID, to *Person, beside bool, at time.Time) (*Stage, error) {
	s, err := p.open(stage)
	if err != nil {
		return nil, err
	}
	switch {
	case beside && to == nil:
		return nil, fault.New(fault.Invalid, "PERSON_MISSING", "Say who comes beside those who have %s; or to take it from all, do not say beside.", s.Title()).At("person")
	case !beside && len(p.OnIt[stage]) > 0:
		return nil, p.mayNotBeTaken(*s)
	case to == nil:
		s.give()
	default:
		if err := to.may(*s, at); err != nil {
			return nil, err
		}
		if err := s.giveTo(*to, beside); err != nil {
			return nil, err
		}
	}
	p.Piece.Version++
	return s, nil
}

// open finds a stage on which work can go on. Faults: STAGE_NOT_FOUND, PIECE_SCRAPPED,
// STAGE_FINISHED.
func (p *Plan) open(stage id.ID) (*Stage, error) {
	s, err := p.Stage(stage)
	switch {
	case err != nil:
		return nil, err
	case p.Piece.Scrapped:
		return nil, p.Piece.scrapped()
	case s.Finished():
		return nil, finished(*s)
	}
	return s, nil
}

// mayNotBeTaken is the refusal to take a stage from people in the middle of it.
func (p *Plan) mayNotBeTaken(s Stage) error {
	names := strings.Join(p.OnIt[s.ID], ", ")
	return fault.New(fault.Precondition, "STAGE_HAS_OPEN_CLOCK",
		"Still on the clock at %s: %s. Clock off first, hand it over, or let the next one come beside them.", s.Title(), names).With("people", names)
}

// giveTo gives the stage to somebody, alone or beside who has it: the first is its assignee.
func (s *Stage) giveTo(to Person, beside bool) error {
	hands := s.hands()
	switch {
	case !beside:
		hands = nil
	case slices.ContainsFunc(hands, isOf(to.ID)):
		return nil
	case len(hands) >= mostHands:
		return s.tooMany()
	}
	s.give(append(hands, Helper{to.ID, to.Name})...)
	return nil
}

func (s Stage) tooMany() error {
	return fault.New(fault.Precondition, "TOO_MANY_HANDS", "%s have %s already, and %d people can have it at once. Give it to somebody in the place of them all, or hand it over from one of them.",
		s.heldBy(), s.Title(), mostHands)
}

// ofAnother is the refusal of a person at a stage that somebody else has or is at.
func ofAnother(s Stage, who string, p Person) error {
	return fault.New(fault.Precondition, "STAGE_OF_ANOTHER", "%s is %s's. Assign it to %s first, alone or beside them.", s.Title(), who, p.Name).With("assignee", who)
}

// hands are all who have the stage, its assignee first.
func (s Stage) hands() (all []Helper) {
	if s.Assignee != id.Nil {
		all = append(all, Helper{s.Assignee, s.AssignedTo})
	}
	return append(all, s.Helpers...)
}

// give makes the stage these people's and nobody else's: of the first, with the others
// beside.
func (s *Stage) give(hands ...Helper) {
	s.Assignee, s.AssignedTo, s.Helpers = id.Nil, "", nil
	if len(hands) > 0 {
		s.Assignee, s.AssignedTo, s.Helpers = hands[0].ID, hands[0].Name, hands[1:]
	}
}

func isOf(person id.ID) func(Helper) bool { return func(h Helper) bool { return h.ID == person } }

// Theirs reports whether the person has the stage, alone or beside others.
func (s Stage) Theirs(person id.ID) bool { return slices.ContainsFunc(s.hands(), isOf(person)) }

// heldBy names those who have the stage.
func (s Stage) heldBy() string {
	hands := s.hands()
	if len(hands) == 0 {
		return "nobody"
	}
	names := make([]string, len(hands))
	for i, h := range hands {
		names[i] = h.Name
	}
	return listed(names)
}

// listed puts words into a sentence: "Nell, Ira and Tom".
func listed(words []string) string {
	last := len(words) - 1
	if last < 1 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// Promise says until when a piece is promised, and what it is worth in minor units; the zero
// time is to nobody, and nil that nobody knows. Fault: PIECE_SCRAPPED.
func (p *Piece) Promise(until time.Time, value *int64) error {
	if p.Scrapped {
		return p.scrapped()
	}
	p.Promised, p.Value = until, value
	p.Version++
	return nil
}
