package finish

import "tackfree/pkg/fault"

// Complete puts in what was forgotten: before each step that breaks a rule, what mends it,
// until none is left that has a remedy. What has none stays for Check to list. Faults: as
// Check, and NOT_STATED.
func Complete(a Assessment, steps []Step) ([]Step, error) {
	c, err := complete(a, steps, Palette{})
	if err != nil {
		return nil, err
	}
	return c.done, nil
}

// completion is the steps of a part as far as they are complete.
type completion struct {
	surface  *surface
	done     []Step
	findings []Finding // what no remedy mended
}

func complete(a Assessment, steps []Step, p Palette) (*completion, error) {
	for _, st := range steps {
		if err := st.stated(); err != nil {
			return nil, err
		}
	}
	if err := checkAll(a, steps); err != nil {
		return nil, err
	}
	c := &completion{surface: begin(a, p), done: make([]Step, 0, 3*len(steps)+12)}
	for _, st := range steps {
		if err := c.add(st); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// add does a step when nothing is left to be mended before it.
func (c *completion) add(st Step) error {
	n := coming(st)
	for {
		missing, broken := mend(c.surface, n)
		if missing == nil {
			return c.do(n, broken)
		}
		if err := c.mend(missing, 0); err != nil {
			return err
		}
	}
}

// mend does the steps that a rule asks for, as far as they want nothing before them. If one
// does, that is done alone: it may have changed the surface so much that nobody asks for the
// step any more.
func (c *completion) mend(steps []Step, depth int) error {
	for _, st := range steps {
		n := coming(st)
		missing, broken := mend(c.surface, n)
		switch {
		case depth > maxSteps:
			return endless(st)
		case missing != nil:
			return c.mend(missing, depth+1)
		}
		if err := c.do(n, broken); err != nil {
			return err
		}
	}
	return nil
}

func (c *completion) do(n *next, broken []*Rule) error {
	if len(c.done) == maxSteps {
		return endless(n.Step)
	}
	for _, r := range broken {
		c.findings = append(c.findings, Finding{len(c.done), *r})
	}
	c.surface.do(n)
	c.done = append(c.done, n.Step)
	return nil
}

func endless(st Step) error {
	return fault.New(fault.Precondition, "PLAN_HAS_NO_END", "These steps want ever more before them; change the product of %s.", st.Kind).At("steps")
}

// mend is what the first broken rule that has a remedy asks for; without one, all that are
// broken.
func mend(s *surface, n *next) (missing []Step, broken []*Rule) {
	for i := range stepRules {
		r := &stepRules[i]
		if !r.broken(s, n) {
			continue
		}
		if r.remedy != nil {
			if steps := r.remedy(s, n); len(steps) > 0 {
				return steps, nil
			}
		}
		broken = append(broken, r)
	}
	return nil, broken
}
