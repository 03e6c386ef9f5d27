package workflow

import (
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// BareFinish is the word for a part on which no coating lies, where a word is needed: nothing said may be left out.
const BareFinish finish.Family = "bare"

// Filled is the part with what intake's assessment of it says, nil being that nobody looked at it, where whoever drafts
// left it out; and of which fields that was taken. What was said wins. Fault: PART_NOT_ASSESSED.
func (p PlanPart) Filled(seen *PlanPart) (out PlanPart, fields []string, err error) {
	switch {
	case seen != nil:
		fields = p.fill(*seen)
	case p.Material == "":
		return p, nil, fault.New(fault.Precondition, "PART_NOT_ASSESSED", "Nobody assessed the part %s yet; assess it first, or say in the plan what it is made of.", p.Label).At("material")
	}
	if p.OldFinish == BareFinish {
		p.OldFinish = ""
	}
	return p, fields, nil
}

// fill takes what was left out. Where the material is said, an old finish that is left out says that the part is bare, and
// a tick that is not there that nothing was seen; what belongs to another material is not taken.
func (p *PlanPart) fill(seen PlanPart) (fields []string) {
	whole := p.Material == ""
	take(&fields, "material", &p.Material, seen.Material)
	if p.Material == seen.Material {
		take(&fields, "species", &p.Species, seen.Species)
		take(&fields, "veneer_mm", &p.VeneerMM, seen.VeneerMM)
	}
	if whole {
		take(&fields, "old_finish", &p.OldFinish, seen.OldFinish)
		take(&fields, "waxed", &p.OldWax, seen.OldWax)
		take(&fields, "old_stain", &p.OldStain, seen.OldStain)
	}
	if p.Material == seen.Material && p.OldFinish != "" && p.OldFinish != BareFinish {
		take(&fields, "painted_in", &p.PaintedIn, seen.PaintedIn)
	}
	if whole && len(p.Defects) == 0 && len(seen.Defects) > 0 {
		p.Defects, fields = seen.Defects, append(fields, "defects")
	}
	return fields
}

// take fills one field that was left out, if there is something to fill it with, and notes it.
func take[T comparable](fields *[]string, field string, to *T, from T) {
	var none T
	if *to == none && from != none {
		*to, *fields = from, append(*fields, field)
	}
}
