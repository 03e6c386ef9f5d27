package finish

import (
	"fmt"

	"tackfree/pkg/fault"
)

// Finding is a rule that a plan breaks at a step.
type Finding struct {
	Step int // index
	Rule Rule
}

// String is one line.
func (f Finding) String() string {
	return fmt.Sprintf("step %d: %s (%s). %s %s", f.Step+1, f.Rule.Says, f.Rule.ID, f.Rule.Why, f.Rule.Instead)
}

// maxSteps is more than any part takes.
const maxSteps = 200

// Check goes through the steps of a part, one after the other, and lists every rule that
// one of them breaks as the part then stands. Faults: of the assessment and the steps.
func Check(a Assessment, steps []Step) ([]Finding, error) {
	if err := checkAll(a, steps); err != nil {
		return nil, err
	}
	var findings []Finding
	s := begin(a, Palette{})
	for i, st := range steps {
		for _, r := range brokenBy(s, st) {
			findings = append(findings, Finding{i, r})
		}
		s.do(st)
	}
	sequence, err := sequenceFindings(steps)
	return append(findings, sequence...), err
}

func checkAll(a Assessment, steps []Step) error {
	if err := a.check(); err != nil {
		return err
	}
	if len(steps) > maxSteps {
		return fault.New(fault.Invalid, "PLAN_TOO_LONG", "A part with %d steps is more than the %d that any takes.", len(steps), maxSteps).At("steps")
	}
	for _, st := range steps {
		if err := st.check(); err != nil {
			return err
		}
	}
	return nil
}

// sequenceFindings checks each run of sanding that nothing else is done to the surface in.
func sequenceFindings(steps []Step) ([]Finding, error) {
	var findings []Finding
	var run []Grit
	var at []int
	flush := func() error {
		faults, err := CheckSequence(run)
		for _, f := range faults {
			findings = append(findings, Finding{at[f.At], skippedGrades})
		}
		run, at = nil, nil
		return err
	}
	for i, st := range steps {
		switch {
		case st.Kind == Sand:
			run, at = append(run, st.Grit), append(at, i)
		case touches(st.Kind) || st.Kind == Strip:
			if err := flush(); err != nil {
				return nil, err
			}
		}
	}
	return findings, flush()
}

// Complete puts in what was forgotten: before each step that breaks a rule, what mends it,
// until none is left that has a remedy. What has none stays for Check to list. Faults: as
// Check.
func Complete(a Assessment, steps []Step) ([]Step, error) {
	return complete(a, steps, Palette{})
}

func complete(a Assessment, steps []Step, p Palette) ([]Step, error) {
	if err := checkAll(a, steps); err != nil {
		return nil, err
	}
	left := append([]Step(nil), steps...)
	var done []Step
	for s := begin(a, p); len(left) > 0; {
		if missing := mend(s, left[0]); missing != nil {
			left = append(missing, left...)
		} else {
			s.do(left[0])
			done, left = append(done, left[0]), left[1:]
		}
		if len(done)+len(left) > maxSteps {
			return nil, fault.New(fault.Precondition, "PLAN_HAS_NO_END", "These steps want ever more before them; change the product of %s.", left[0].Kind).At("steps")
		}
	}
	return done, nil
}

// mend is what the first broken rule that has a remedy asks for.
func mend(s *surface, next Step) []Step {
	for i := range stepRules {
		r := &stepRules[i]
		if r.remedy == nil || !r.broken(s, next) {
			continue
		}
		if steps := r.remedy(s, next); len(steps) > 0 {
			return steps
		}
	}
	return nil
}
