package workflow

import (
	"fmt"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// judge finds every rule that the stages break. Who answers for one is not asked here.
func (b *PlanBody) judge() error {
	stages, err := b.seenStages()
	if err != nil {
		return err
	}
	found, err := finish.CheckPiece(b.seenParts(), stages)
	if err != nil {
		return err
	}
	b.Findings = nil
	for _, f := range found {
		b.Findings = append(b.Findings, PlanFinding{Stage: b.Stages[f.Stage].Title(), Rule: RuleOf(f.Rule)})
	}
	return nil
}

// seenStages are the stages as the rules see them.
func (b *PlanBody) seenStages() ([]finish.Stage, error) {
	before, err := waitsFor(b.Stages)
	if err != nil {
		return nil, err
	}
	out := make([]finish.Stage, len(b.Stages))
	for i, s := range b.Stages {
		step, err := b.step(s)
		if err != nil {
			return nil, err
		}
		out[i] = finish.Stage{Part: s.Part, Key: s.Key, Step: step, Needs: s.Needs, Latest: s.Latest, After: before[i]}
	}
	return out, nil
}

// Answer notes who answers for the rules that are broken. Fault: OVERRIDE_UNKNOWN, where
// nothing breaks the rule.
func (b *PlanBody) Answer(overrides []PlanOverride) error {
	for _, o := range overrides {
		if !b.answer(o) {
			return fault.New(fault.NotFound, "OVERRIDE_UNKNOWN", "Nothing breaks the rule %q at %s; look at what the check finds.", o.Rule, anywhere(o.Stage)).At("overrides")
		}
	}
	return nil
}

func (b *PlanBody) answer(o PlanOverride) (found bool) {
	for i, f := range b.Findings {
		if f.Rule.ID == o.Rule && (o.Stage == "" || o.Stage == f.Stage) {
			b.Findings[i].Override, found = &o, true
		}
	}
	return found
}

func anywhere(stage string) string {
	if stage == "" {
		return "any stage"
	}
	return stage
}

// Answered is Answer for a check, which refuses nothing: what nobody could approve counts
// for nothing.
func (b *PlanBody) Answered(overrides []PlanOverride) {
	for _, o := range overrides {
		b.answer(o)
	}
}

// standing are the stops for which nobody answers.
func (b *PlanBody) standing() (left []PlanFinding) {
	for _, f := range b.Findings {
		if f.Rule.Severity == finish.Stop && f.Override == nil {
			left = append(left, f)
		}
	}
	return left
}

// Approvable reports that no stop stands against the plan.
func (b *PlanBody) Approvable() bool { return len(b.standing()) == 0 }

// broken is the refusal of a plan against which stops stand, with all of them.
func (b *PlanBody) broken() error {
	left := b.standing()
	if len(left) == 0 {
		return nil
	}
	var say, rules []string
	at := map[string][]string{}
	for _, f := range left {
		if at[f.Rule.ID] == nil {
			rules = append(rules, f.Rule.ID)
		}
		at[f.Rule.ID] = append(at[f.Rule.ID], f.Stage)
	}
	for _, f := range left {
		if stages := at[f.Rule.ID]; stages[0] == f.Stage { // each rule once
			say = append(say, fmt.Sprintf("%s: %s (%s) %s", strings.Join(stages, ", "), f.Rule.Says, f.Rule.ID, f.Rule.Instead))
		}
	}
	return fault.New(fault.Precondition, "RULE_BROKEN", "The plan breaks rules for which nobody answers. %s", strings.Join(say, " ")).
		With("rules", strings.Join(rules, ", "))
}
