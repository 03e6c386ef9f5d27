package workflow

import (
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/sentence"
)

// Giving is a stage that one person would give to another.
type Giving struct {
	Plan     *Plan
	Stage    id.ID
	From, To Person
	Pin      *PlanPin // of the stage, in whatever pass; nil: it has none
}

// Standing is the stage as it is now. Fault: STAGE_NOT_FOUND.
func (g Giving) Standing() (Standing, error) {
	s, err := g.Plan.Stage(g.Stage)
	if err != nil {
		return Standing{}, err
	}
	return Standing{Piece: g.Plan.Piece, Stage: *s}, nil
}

// May finds the stage, which the one has, nobody works on and no lead has pinned to anybody, and which the other
// could do. Faults: STAGE_NOT_FOUND, PIECE_SCRAPPED, PIECE_SOLD, STAGE_FINISHED, NOT_THEIRS, THEIRS_ALREADY,
// STAGE_PINNED, STAGE_HAS_OPEN_CLOCK, PERSON_INACTIVE, SKILL_MISSING.
func (g Giving) May(at time.Time) (*Stage, error) {
	s, err := g.Plan.open(g.Stage)
	if err != nil {
		return nil, err
	}
	switch {
	case g.Plan.Piece.Sold():
		return nil, fault.New(fault.Precondition, "PIECE_SOLD", "Piece %d was sold; what is left to do on it changes hands no more.", g.Plan.Piece.Tag)
	case !s.Theirs(g.From.ID):
		return nil, notTheirs(*s, g.From)
	case s.Theirs(g.To.ID):
		return nil, fault.New(fault.Precondition, "THEIRS_ALREADY", "%s has %s already; ask somebody else.", g.To.Name, s.Title())
	case g.Pin.holds(*s):
		return nil, pinned(*s)
	case len(g.Plan.OnIt[s.ID]) > 0:
		return nil, g.Plan.mayNotBeTaken(*s)
	}
	return s, g.To.may(*s, at)
}

// OfferSwap makes an offer of a stage, for another one or for nothing; open is one of the stage that is open, nil for
// none. Faults: SAME_PERSON, SWAP_OPEN, and of each giving those of Giving.May.
func OfferSwap(swap id.ID, givings []Giving, open *Swap, note string, at time.Time) (Swap, error) {
	from, to := givings[0].From, givings[0].To
	if from.ID == to.ID {
		return Swap{}, fault.New(fault.Invalid, "SAME_PERSON", "%s cannot swap with themselves; name somebody else.", from.Name).At("to_person")
	}
	w := Swap{ID: swap, From: Helper{from.ID, from.Name}, To: Helper{to.ID, to.Name}, Note: note, State: SwapOpen, OfferedAt: at}
	for i, g := range givings {
		s, err := g.May(at)
		switch {
		case err != nil && i == 0:
			return Swap{}, err
		case err != nil:
			return Swap{}, fault.Of(err).At("for_stage")
		case i == 0:
			w.Offered = Side{Piece: s.Piece, Stage: s.ID, Pass: s.Pass()}
		default:
			w.Wanted = &Side{Piece: s.Piece, Stage: s.ID, Pass: s.Pass()}
		}
	}
	if open != nil {
		return Swap{}, fault.New(fault.Precondition, "SWAP_OPEN", "This stage is offered to %s already. Withdraw that offer first, or wait for the answer.", open.To.Name).At("stage")
	}
	return w, nil
}

// StageRefusal is that somebody does not want a stage in one of its passes.
type StageRefusal struct {
	Stage, Person id.ID
	Pass          int32
	Reason        string // may be empty
}

// Refuse takes a stage from a person who does not want it; others who have it keep it. Faults: STAGE_NOT_FOUND,
// PIECE_SCRAPPED, STAGE_FINISHED, NOT_THEIRS, STAGE_PINNED, STAGE_HAS_OPEN_CLOCK.
func (p *Plan) Refuse(stage id.ID, who Person, pin *PlanPin, reason string) (StageRefusal, *Stage, error) {
	refusal := StageRefusal{Stage: stage, Person: who.ID, Reason: reason}
	s, err := p.open(stage)
	switch {
	case err != nil:
		return refusal, nil, err
	case !s.Theirs(who.ID):
		return refusal, nil, notTheirs(*s, who)
	case pin.holds(*s):
		return refusal, nil, pinned(*s)
	case slices.Contains(p.OnIt[stage], who.Name):
		return refusal, nil, p.mayNotBeTaken(*s)
	}
	s.give(slices.DeleteFunc(s.hands(), isOf(who.ID))...)
	p.Piece.Version++
	refusal.Pass = s.Pass()
	return refusal, s, nil
}

// Unwilling says that somebody whom a plan gives the stage gave it back since; nil: it was pinned to them all the
// same. pin is of the stage, nil for none.
func (s Stage) Unwilling(who Person, pin *PlanPin) *sentence.Sentence {
	if pin.holds(s) && pin.Person == who.ID {
		return nil
	}
	return ofStage(s, sentence.New("PLANNED_AND_REFUSED", "%s gave %s back since it was planned; the next plan knows of it.", who.Name, s.Title()).With("person", who.Name))
}

// holds reports whether a pin has somebody do the stage in its present pass.
func (pin *PlanPin) holds(s Stage) bool {
	return pin != nil && pin.Pass == s.Pass() && pin.Person != id.Nil
}

func notTheirs(s Stage, who Person) error {
	return fault.New(fault.Precondition, "NOT_THEIRS", "%s does not have %s; %s has it. Look at whose it is now.", who.Name, s.Title(), s.heldBy()).At("stage")
}

func pinned(s Stage) error {
	return fault.New(fault.Precondition, "STAGE_PINNED", "The plan keeps %s where a lead pinned it. Ask them to take the pin away first.", s.Title())
}
