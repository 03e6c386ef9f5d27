package workflow

import (
	"fmt"
	"slices"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// leadCaution is the caution that a test for lead may spare.
const leadCaution = "lead"

// lead refuses a stage that makes dust or debris of an old coating of which nobody knows
// that it holds no lead. Chemical stripping, which is the kind strip alone, keeps it wet, so it
// may go on where lead was found.
// Faults: LEAD_UNTESTED, LEAD_PRESENT.
func (g Ground) lead(s Stage) error {
	if !s.DisturbsOld {
		return nil
	}
	switch result := g.leadOf(s); {
	case result == "":
		return fault.New(fault.Precondition, "LEAD_UNTESTED", "%s has to wait: the old coating of %s was not tested for lead, so it is presumed to hold it. %s "+
			"Record a test of it or of the whole piece, or have a named person accept the work under controls. %s", s.Title(), s.where(), noDust, deference)
	case result == LeadFound && finish.Kind(s.Kind) != finish.Strip:
		return fault.New(fault.Precondition, "LEAD_PRESENT", "%s has to wait: the last test found lead in the old coating of %s. %s "+
			"A named person may accept the work under controls; or record a later test that finds none, of the very part where it was found. %s",
			s.Title(), s.where(), noDust, deference)
	}
	return nil
}

const (
	noDust    = "No dry sanding, no scraping, no heat."
	deference = "Your local codes and licensed practice come first."
)

// graver are the results of tests for lead, the gravest last.
var graver = []string{"", LeadFree, LeadAccepted, LeadFound}

// leadOf is what tests for lead say of where a stage works; empty: too little. What was found
// on a part, or accepted there, holds until that part is itself tested again: a test of the
// whole piece may have missed it, and can only make it worse. The other way round, a part that
// is tested after the whole piece has its own result. A stage on the whole piece meets the
// gravest of all parts, and is tested only where the whole piece was.
func (g Ground) leadOf(s Stage) string {
	worst, tested := 0, false
	for _, t := range g.Tests {
		if t.Kind != LeadTest || !touches(t.Part, s) {
			continue
		}
		worst = max(worst, slices.Index(graver, t.Result))
		tested = tested || t.Part == s.Part || t.Part == id.Nil
		if t.Part == s.Part && s.Part != id.Nil {
			break
		}
	}
	if !tested && graver[worst] != LeadFound {
		return ""
	}
	return graver[worst]
}

// toRead are the cautions that whoever starts the stage must have read.
func (g Ground) toRead(s Stage) (all []string) {
	for _, c := range s.Cautions {
		if c != leadCaution || g.leadOf(s) != LeadFree {
			all = append(all, c)
		}
	}
	return all
}

// Known are those of the cautions that the stage has.
func (s Stage) Known(cautions []string) []string {
	return slices.DeleteFunc(slices.Clone(cautions), func(c string) bool { return !slices.Contains(s.Cautions, c) })
}

// read adds to what a person had read of the stage's cautions in this pass what they now say
// to have read; now is what they said, each once. Faults: CAUTION_UNKNOWN,
// CAUTIONS_NOT_ACKNOWLEDGED.
func (f Facts) read(said []string) (now, all []string, err error) {
	for i, c := range said {
		if !slices.Contains(f.Stage.Cautions, c) {
			return nil, nil, fault.New(fault.Invalid, "CAUTION_UNKNOWN", "%s has no caution %q; it has: %s.", f.Stage.Title(), c, orNoCautions(f.Stage.Cautions)).
				At(fmt.Sprintf("acknowledged_cautions[%d]", i))
		}
	}
	var missing []string
	for _, c := range f.Stage.Cautions {
		if slices.Contains(said, c) {
			now = append(now, c)
		}
		if slices.Contains(said, c) || slices.Contains(f.Read, c) {
			all = append(all, c)
		} else if slices.Contains(f.Ground.toRead(f.Stage), c) {
			missing = append(missing, c)
		}
	}
	if len(missing) > 0 {
		return nil, nil, f.unread(missing)
	}
	return now, all, nil
}

func orNoCautions(ids []string) string {
	if len(ids) == 0 {
		return "none"
	}
	return strings.Join(ids, ", ")
}

// unread is the refusal of somebody who has not said to have read these cautions.
func (f Facts) unread(ids []string) error {
	var texts []string
	for _, i := range ids {
		h, _ := finish.FindHazard(i)
		texts = append(texts, strings.TrimSpace(fmt.Sprintf("%s: %s", i, h.Text)))
	}
	return fault.New(fault.Precondition, "CAUTIONS_NOT_ACKNOWLEDGED", "%s has cautions that %s has not said to have read. %s Read them and acknowledge: %s.",
		f.Stage.Title(), f.Person.Name, strings.Join(texts, " "), strings.Join(ids, ", ")).With("cautions", strings.Join(ids, ","))
}
