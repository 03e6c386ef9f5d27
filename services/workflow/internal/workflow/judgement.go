package workflow

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Source is where the fault of something that came back is from.
type Source string

// The sources.
const (
	SourceProduct  Source = "product"
	SourceClimate  Source = "climate"
	SourceHand     Source = "hand"
	SourceSchedule Source = "schedule" // too early, too late, too thick, in the wrong order
	SourcePiece    Source = "piece"    // its wood, old finish or construction
	SourceUse      Source = "use"      // by its owner
	SourceUnknown  Source = "unknown"
)

// Certainty is how sure somebody is of a source.
type Certainty string

// The certainties.
const (
	Possible Certainty = "possible"
	Likely   Certainty = "likely"
	Certain  Certainty = "certain"
)

// Judgement is what somebody holds for the source of a fault.
type Judgement struct {
	Source      Source
	Certainty   Certainty
	Product     id.ID // id.Nil: none
	ProductName string
	Lot         string
	Stage       id.ID // id.Nil: none
	StageTitle  string
	Person      id.ID // id.Nil: none
	PersonName  string
	Note        string
	At          time.Time
	Actor       string
}

// asked is what a source needs said, and what else it may have: product, stage, person.
var asked = map[Source]struct{ needs, may [3]bool }{
	SourceProduct:  {needs: [3]bool{true, false, false}, may: [3]bool{true, true, false}},
	SourceClimate:  {needs: [3]bool{false, true, false}, may: [3]bool{true, true, false}},
	SourceHand:     {needs: [3]bool{false, true, true}, may: [3]bool{false, true, true}},
	SourceSchedule: {needs: [3]bool{false, true, false}, may: [3]bool{true, true, false}},
	SourcePiece:    {}, SourceUse: {}, SourceUnknown: {},
}

// says is what of product, stage and person it names, and in which fields.
func (j Judgement) says() [3]bool {
	return [3]bool{j.Product != id.Nil, j.Stage != id.Nil, j.Person != id.Nil}
}

var judgedFields = [3]string{"judgement.product", "judgement.stage", "judgement.person"}

// check refuses too little and too much. Faults: SOURCE_INCOMPLETE, SOURCE_UNASKED.
func (j Judgement) check() error {
	rule, says := asked[j.Source], j.says()
	for n, named := range says {
		switch {
		case rule.needs[n] && !named:
			return fault.New(fault.Invalid, "SOURCE_INCOMPLETE", "Say which: a product's fault names the product; climate and the schedule name the stage; a hand names the stage and the person.").At(judgedFields[n])
		case named && !rule.may[n]:
			return fault.New(fault.Invalid, "SOURCE_UNASKED", "That has nothing to do with this source; leave it out, or name another source.").At(judgedFields[n])
		}
	}
	if j.Lot != "" && j.Product == id.Nil {
		return fault.New(fault.Invalid, "SOURCE_UNASKED", "That has nothing to do with this source; leave it out, or name another source.").At("judgement.lot")
	}
	return nil
}

// Judge puts a judgement in the place of the one before, also of what is closed. Faults: SOURCE_INCOMPLETE,
// SOURCE_UNASKED, STAGE_NOT_FOUND.
func (p *Plan) Judge(c Comeback, j Judgement) (Comeback, error) {
	if err := j.check(); err != nil {
		return c, err
	}
	if j.Stage != id.Nil {
		s, err := p.Stage(j.Stage)
		if err != nil {
			return c, fault.Of(err).At("judgement.stage")
		}
		j.StageTitle = s.Title()
	}
	c.Judgement = &j
	c.Version++
	p.Piece.Version++
	return c, nil
}
