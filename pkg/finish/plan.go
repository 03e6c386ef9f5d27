package finish

import (
	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Wanted is the look of a part, and how many coats of what covers it.
type Wanted struct {
	Look     Look
	Coats    int // of paint or oil, 1 to 6; 0: two, and three of oil
	Topcoats int // 0 to 6; 0 is one where nothing else covers the wood or holds white in it
	Waxed    bool
	Bared    bool // the old coating comes off, also where the new one would hold on it
}

// PlanPart makes the steps that give a part its look: the coats that it is made of, and
// before each what the rules ask for. A coat that would sag goes on in thinner ones. Faults:
// of the assessment and the products, LOOK_UNKNOWN, PRODUCT_MISSING, NOT_STATED, TIE_COAT_UNFIT,
// PLAN_IMPOSSIBLE where what is wanted breaks a rule that no step can mend.
func PlanPart(a Assessment, w Wanted, p Palette) ([]Step, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	if err := a.check(); err != nil {
		return nil, err
	}
	draft, err := w.draft(a, p)
	if err != nil {
		return nil, err
	}
	c, err := complete(a, draft, p)
	if err != nil {
		return nil, err
	}
	sequence, err := sequenceFindings(c.done)
	if err != nil {
		return nil, err
	}
	for _, f := range append(c.findings, sequence...) {
		if f.Rule.Severity != Note {
			return nil, fault.New(fault.Precondition, "PLAN_IMPOSSIBLE", "%s %s %s", f.Rule.Says, f.Rule.Why, f.Rule.Instead).With("rule", f.Rule.ID)
		}
	}
	return c.done, nil
}

func (w Wanted) check() error {
	if err := dimension.Within("coats", float64(w.Coats), 0, 6, ""); err != nil {
		return err
	}
	return dimension.Within("topcoats", float64(w.Topcoats), 0, 6, "")
}
