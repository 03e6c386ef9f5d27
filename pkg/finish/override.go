package finish

import (
	"tackfree/pkg/fault"
)

// PieceFinding is a rule that the stages of a piece break.
type PieceFinding struct {
	Stage int // index
	Rule  Rule
}

// Override is that somebody answers for breaking a rule.
type Override struct {
	Rule   string // ID
	Stage  string // title, such as topcoat (top); empty: wherever it is broken
	Person string
	Reason string
}

// Standing is the stops for which nobody answers, in their order: what keeps the stages
// from being approved. Faults: OVERRIDE_NAMELESS if it is said neither who answers nor
// why, OVERRIDE_UNKNOWN if nothing breaks the rule there.
func Standing(stages []Stage, findings []PieceFinding, overrides []Override) (left []PieceFinding, err error) {
	answered := make([]bool, len(findings))
	for _, o := range overrides {
		if err := o.answer(stages, findings, answered); err != nil {
			return nil, err
		}
	}
	for i, f := range findings {
		if f.Rule.Severity == Stop && !answered[i] {
			left = append(left, f)
		}
	}
	return left, nil
}

func (o Override) answer(stages []Stage, findings []PieceFinding, answered []bool) error {
	if o.Person == "" || o.Reason == "" {
		return fault.New(fault.Invalid, "OVERRIDE_NAMELESS", "Nobody answers for breaking the rule %q; say who does, and why.", o.Rule).At("overrides")
	}
	found := false
	for i, f := range findings {
		if f.Rule.ID == o.Rule && (o.Stage == "" || f.at(stages) == o.Stage) {
			found, answered[i] = true, true
		}
	}
	if !found {
		return fault.New(fault.NotFound, "OVERRIDE_UNKNOWN", "Nothing breaks the rule %q at %q; look at what the check finds.", o.Rule, o.Stage).At("overrides")
	}
	return nil
}

// at is the title of the stage; empty: there is no such stage.
func (f PieceFinding) at(stages []Stage) string {
	if f.Stage < 0 || f.Stage >= len(stages) {
		return ""
	}
	return stages[f.Stage].Title()
}
