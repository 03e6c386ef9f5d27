package workflow

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Inspect decides on a look at a stage, and changes nothing yet: see Conclude. Faults:
// STAGE_NOT_FOUND, PIECE_SCRAPPED, STAGE_FINISHED, STAGE_NOT_READY, STAGE_HAS_OPEN_CLOCK,
// STAGE_NOT_FINISHED, INSPECTED_BEFORE_FINISH, PART_AWAY, PERSON_INACTIVE, SKILL_MISSING,
// OWN_WORK, DEFECT_MISSING, DEFECT_UNKNOWN, PART_UNKNOWN, BACK_TO_MISSING, BACK_TO_UNASKED.
func (p *Plan) Inspect(stage id.ID, l Look) (Inspection, error) {
	s, err := p.visible(stage, l)
	if err != nil {
		return Inspection{}, err
	}
	if err := l.By.may(*s, l.At); err != nil {
		return Inspection{}, err
	}
	if err := p.ownWork(*s, l); err != nil {
		return Inspection{}, err
	}
	i := Inspection{ID: l.ID, Piece: p.Piece.ID, PieceTag: p.Piece.Tag, Stage: s.ID, StageTitle: s.Title(), Point: l.Point, Pass: s.Pass(),
		Inspector: l.By.ID, InspectorName: l.By.Name, Passed: l.Passed, Note: l.Note, At: l.At, Actor: l.Actor}
	if i.Point == "" {
		i.Point = s.Point()
	}
	if i.Defects, err = p.found(*s, l); err != nil {
		return i, err
	}
	judged, err := p.judged(*s, l)
	if err != nil {
		return i, err
	}
	if !l.Passed {
		i.BackTo, i.BackToTitle = judged.ID, judged.Title()
	}
	i.Judged = p.judgedOf(judged, l.Hands[judged.ID])
	return i, nil
}

// visible finds a stage whose work can be looked at: an inspection that could be finished, or
// another stage that is. An inspection that was passed fails after all, but is not passed twice.
func (p *Plan) visible(stage id.ID, l Look) (*Stage, error) {
	s, err := p.Stage(stage)
	if err != nil {
		return nil, err
	}
	at, passed := l.At, s.inspects() && s.Finished()
	switch {
	case s.inspects() && !passed:
		return p.mayLook(stage, at)
	case p.Piece.Scrapped:
		return nil, p.Piece.scrapped()
	case passed && l.Passed:
		return nil, fault.New(fault.Precondition, "STAGE_FINISHED", "%s has passed. If something is wrong after all, record that it failed, and what has to be done again.", s.Title())
	case !s.Finished():
		return nil, fault.New(fault.Precondition, "STAGE_NOT_FINISHED", "%s is not finished, so there is nothing to look at yet. Finish it first.", s.Title())
	case p.isAway(*s):
		return nil, away(*s)
	case before(at, s.FinishedAt):
		return nil, fault.New(fault.Invalid, "INSPECTED_BEFORE_FINISH", "%s was only finished on %s, so nobody looked at it on %s; check the time.",
			s.Title(), saidLike(s.FinishedAt, at), said(at)).At("inspect_time")
	}
	return s, nil
}

// mayLook refuses an inspection that could not be finished, or before what it looks at was.
func (p *Plan) mayLook(stage id.ID, at time.Time) (*Stage, error) {
	s, err := p.mayEnd(stage)
	if err != nil {
		return nil, err
	}
	for _, b := range p.before(*s) {
		if before(at, b.FinishedAt) {
			return nil, fault.New(fault.Invalid, "INSPECTED_BEFORE_FINISH", "%s looks at %s, which was only finished on %s, so nobody looked at it on %s; check the time.",
				s.Title(), b.Title(), saidLike(b.FinishedAt, at), said(at)).At("inspect_time")
		}
	}
	return s, nil
}

// ownWork refuses to pass what a person did alone while somebody else could look at it. Of an
// inspection that is what comes directly before it. Fault: OWN_WORK.
func (p *Plan) ownWork(s Stage, l Look) error {
	looked := []id.ID{s.ID}
	if s.inspects() {
		looked = s.After
	}
	var hands []id.ID
	for _, stage := range looked {
		hands = append(hands, l.Hands[stage]...)
	}
	alone := len(hands) > 0 && !slices.ContainsFunc(hands, func(h id.ID) bool { return h != l.By.ID })
	if !l.Passed || !alone {
		return nil
	}
	var others []string
	for _, o := range l.Others {
		if o.ID != l.By.ID && o.may(s, l.At) == nil {
			others = append(others, o.Name)
		}
	}
	if len(others) == 0 {
		return nil
	}
	return fault.New(fault.Precondition, "OWN_WORK", "%s did alone what %s looks at, so somebody else says whether it passes: %s.",
		l.By.Name, s.Title(), strings.Join(others, ", ")).With("others", strings.Join(others, ", "))
}

// found are the defects, each on a part: of one that is not named that of the stage.
func (p *Plan) found(s Stage, l Look) (out []Defect, err error) {
	if !l.Passed && len(l.Defects) == 0 {
		return nil, fault.New(fault.Invalid, "DEFECT_MISSING", "Say what is wrong with %s: at least one defect.", s.Title()).At("defects")
	}
	for n, d := range l.Defects {
		if f := d.known(); f != nil {
			return nil, f.At(fmt.Sprintf("defects[%d].kind", n))
		}
		if d.Part == id.Nil {
			d.Part = s.Part
		}
		label, known := p.labelOf(d.Part, l.Parts)
		if !known {
			return nil, unknownPart(p.Piece).At(fmt.Sprintf("defects[%d].part", n))
		}
		d.PartLabel = label
		out = append(out, d)
	}
	return out, nil
}

// labelOf is what a part is called that somebody told of, or that has a stage; the whole piece
// has no label.
func (p *Plan) labelOf(part id.ID, parts []Part) (label string, known bool) {
	for _, told := range parts {
		if told.ID == part {
			return told.Label, true
		}
	}
	i := slices.IndexFunc(p.Stages, func(s Stage) bool { return s.Part == part })
	if i < 0 {
		return "", part == id.Nil
	}
	return p.Stages[i].PartLabel, true
}

// unknownPart is the refusal of a part that a piece does not have.
func unknownPart(p Piece) *fault.Fault {
	return fault.New(fault.Invalid, "PART_UNKNOWN", "Piece %d has no such part; name one of its own, or none.", p.Tag)
}

// judged is the stage whose work a look judges. Faults: BACK_TO_MISSING, BACK_TO_UNASKED.
func (p *Plan) judged(s Stage, l Look) (Stage, error) {
	if l.Passed {
		if l.BackTo != id.Nil {
			return s, fault.New(fault.Invalid, "BACK_TO_UNASKED", "What passes is not done again. Name no stage to go back to, or say that it failed.").At("back_to")
		}
		return p.lastWork(s), nil
	}
	for _, b := range p.before(s) {
		if b.ID == l.BackTo {
			return b, nil
		}
	}
	return s, fault.New(fault.Invalid, "BACK_TO_MISSING", "Say what has to be done again because of what %s found: a finished stage that it builds on.", s.Title()).At("back_to")
}

// before are the stages that a look at one is about: all that come before it, however far, and
// itself if it is no inspection; in the order of the work.
func (p *Plan) before(s Stage) (out []Stage) {
	in := map[id.ID]bool{s.ID: true}
	for _, b := range slices.Backward(p.Stages) { // positions follow the order of the work
		if !in[b.ID] {
			continue
		}
		for _, after := range b.After {
			in[after] = true
		}
		if b.ID != s.ID || !s.inspects() {
			out = append(out, b)
		}
	}
	slices.Reverse(out)
	return out
}

// lastWork is what a pass looked at: the stage, or of an inspection the coat before it that was
// finished last; where nobody laid one, the last stage before it.
func (p *Plan) lastWork(s Stage) Stage {
	if !s.inspects() {
		return s
	}
	last, coat := s, false
	for _, b := range p.before(s) {
		lays := finish.Kind(b.Kind).LeavesFilm()
		if !b.inspects() && (lays && !coat || lays == coat && !b.FinishedAt.Before(last.FinishedAt)) {
			last, coat = b, lays
		}
	}
	return last
}

// judgedOf tells what is kept of a stage whose work is judged.
func (p *Plan) judgedOf(s Stage, hands []id.ID) Judged {
	j := Judged{Stage: s.ID, Kind: s.Kind, Pass: s.Pass(), Product: s.Product, ProductName: s.ProductName, Workers: hands, Zone: s.Zone, LaidAt: s.FinishedAt}
	for _, c := range p.Clocks {
		if c.Stage == s.ID && c.Pass == s.Pass() {
			j.Zone = c.Stays[0].Zone
		}
	}
	return j
}

// Breathed keeps the air in which what is judged was laid, as it was last read before that;
// nil, or a reading too old to stand for it, leaves it unknown.
func (j *Judged) Breathed(air *Air) {
	if air.tells(j.LaidAt) {
		j.Air = &air.Air
	}
}

// Conclude finishes the stage that passed, or sends back what failed, and returns the stages
// that it moved; last is the last work on the stage in its pass. Faults: those of Finish and
// of SendBack.
func (p *Plan) Conclude(i *Inspection, last Entry) ([]*Stage, error) {
	s, err := p.Stage(i.Stage)
	switch {
	case err != nil:
		return nil, err
	case !i.Passed:
		return p.fail(i)
	case s.Finished():
		return nil, nil
	}
	return []*Stage{s}, p.end(s, i.At, last)
}

// fail sends the work back. The inspection itself begins its next pass: who looks again does so
// because of what was found.
func (p *Plan) fail(i *Inspection) ([]*Stage, error) {
	reopened, err := p.SendBack(i.BackTo, i.At)
	if err != nil {
		return nil, err
	}
	if s, err := p.Stage(i.Stage); err == nil && !slices.Contains(reopened, s) {
		s.SentBack = append(s.SentBack, reopened[0].passBegan())
		reopened = append(reopened, s)
	}
	for _, s := range reopened {
		i.Reopened = append(i.Reopened, Reopened{s.ID, s.Pass()})
	}
	return reopened, err
}
