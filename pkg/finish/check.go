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
		n := coming(st)
		for _, r := range brokenBy(s, n) {
			findings = append(findings, Finding{i, *r})
		}
		s.do(n)
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
		case st.Kind == Strip || traitsOf(st.Kind).touches:
			if err := flush(); err != nil {
				return nil, err
			}
		}
	}
	return findings, flush()
}
