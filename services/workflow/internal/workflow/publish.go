package workflow

import (
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/sentence"
)

// Given is what a plan that is published says of a stage.
type Given struct {
	Stage  id.ID
	Pass   int32   // that it was planned in
	To     *Person // nil: nobody has it any more
	ByPlan id.ID   // to whom an earlier plan gave it; id.Nil: none did
}

// ByPlan reports whether the stage is somebody's because a plan gave it to them: to whom, as was noted then.
func (s Stage) ByPlan(given id.ID) bool {
	return given != id.Nil && s.Assignee == given && len(s.Helpers) == 0
}

// Publish gives a stage as a plan says. Nil and nil: it is so already. What the plan may not change is left alone,
// and the sentence says why.
func (p *Plan) Publish(g Given, at time.Time) (*Stage, *sentence.Sentence) {
	s, err := p.open(g.Stage)
	switch {
	case err == nil && !p.Piece.Sold() && (g.To == nil || s.Pass() == g.Pass):
	case g.To == nil: // nobody is told that what is over is nobody's
		return nil, nil
	default:
		return nil, p.gone(g.Stage)
	}
	if names := p.OnIt[s.ID]; len(names) > 0 {
		return nil, s.inWork(g, names)
	}
	switch {
	case g.To == nil && !s.ByPlan(g.ByPlan), g.To != nil && s.Theirs(g.To.ID):
		return nil, nil
	case s.Assignee != id.Nil && !s.ByPlan(g.ByPlan):
		return nil, ofStage(*s, sentence.New("PLANNED_HELD_BY_HAND", "%s is %s's by hand, and stays so; take it from them first if the plan is to give it to somebody else.", s.Title(), s.heldBy()).With("people", s.heldBy()))
	case g.To == nil:
		s.give()
	default:
		if err := g.To.may(*s, at); err != nil {
			return nil, Refusal(*s, err)
		}
		s.give(Helper{g.To.ID, g.To.Name})
	}
	p.Piece.Version++
	return s, nil
}

// gone says that a stage is not to be done any more as it was planned.
func (p *Plan) gone(stage id.ID) *sentence.Sentence {
	s, err := p.Stage(stage)
	if err != nil {
		s = &Stage{}
	}
	return ofStage(*s, sentence.New("PLANNED_AND_GONE", "%s was finished, sent back, sold or scrapped since it was planned; the next plan knows of it.", s.Title()))
}

// inWork says that others are at a stage than whom the plan has there; nil: it is who is.
func (s *Stage) inWork(g Given, names []string) *sentence.Sentence {
	if g.To == nil || s.Theirs(g.To.ID) || slices.Contains(names, g.To.Name) {
		return nil
	}
	who := strings.Join(names, ", ")
	return ofStage(*s, sentence.New("PLANNED_IN_WORK", "On the clock at %s, which stays with them: %s.", s.Title(), who).With("people", who))
}

// Refusal is a refusal of a person at a stage as a sentence, where it is told and refuses nothing.
func Refusal(s Stage, err error) *sentence.Sentence {
	f := fault.Of(err)
	return ofStage(s, sentence.New("PLANNED_REFUSED", "%s", f.Text).With("refusal", f.Reason))
}

// ofStage is a sentence about a stage.
func ofStage(s Stage, said sentence.Sentence) *sentence.Sentence {
	said = said.With("stage", s.Title()).With("kind", s.Kind)
	return &said
}
