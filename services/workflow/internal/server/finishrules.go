package server

import (
	"context"
	"fmt"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

var severities = map[finish.Severity]workflowv1.Rule_Severity{
	finish.Note: workflowv1.Rule_SEVERITY_NOTE, finish.Caution: workflowv1.Rule_SEVERITY_CAUTION, finish.Stop: workflowv1.Rule_SEVERITY_STOP,
}

// ListRules implements FinishService.
func (s *Server) ListRules(context.Context, *workflowv1.ListRulesRequest) (*workflowv1.ListRulesResponse, error) {
	out := &workflowv1.ListRulesResponse{}
	for _, r := range finish.Rules() {
		out.Rules = append(out.Rules, encodeRule(workflow.RuleOf(r)))
	}
	return out, nil
}

// ExplainRule implements FinishService.
func (s *Server) ExplainRule(_ context.Context, r *workflowv1.ExplainRuleRequest) (*workflowv1.ExplainRuleResponse, error) {
	rule, err := ruleID("name", r.Name)
	if err != nil {
		return nil, err
	}
	found, err := finish.ExplainRule(rule)
	if err != nil {
		return nil, atName(err)
	}
	return &workflowv1.ExplainRuleResponse{Rule: encodeRule(workflow.RuleOf(found))}, nil
}

// decodeOverrides reads who answers for breaking which rule where.
func decodeOverrides(overrides []*workflowv1.Override) (out []workflow.PlanOverride, err error) {
	for i, m := range overrides {
		o := workflow.PlanOverride{Stage: m.Stage, Reason: m.Reason}
		if o.Rule, err = ruleID(fmt.Sprintf("overrides[%d].rule", i), m.Rule); err != nil {
			return nil, err
		}
		if o.Person, err = id.One(fmt.Sprintf("overrides[%d].person", i), m.Person, "people"); err != nil {
			return nil, err
		}
		out = append(out, o)
	}
	return out, nil
}

func whoOverrode(overrides []workflow.PlanOverride) (people []id.ID) {
	for _, o := range overrides {
		people = append(people, o.Person)
	}
	return people
}

// ruleID reads rules/{id}.
func ruleID(field, name string) (string, error) {
	rule, ok := strings.CutPrefix(name, "rules/")
	if !ok || rule == "" || len(rule) > 60 {
		return "", fault.New(fault.Invalid, "INVALID_NAME", "%s is not a rule's name, such as rules/stain-bare-wood.", fault.The(field)).At(field)
	}
	return rule, nil
}

func encodeRule(r workflow.PlanRule) *workflowv1.Rule {
	return &workflowv1.Rule{Name: "rules/" + r.ID, Severity: severities[r.Severity], Says: r.Says, Why: r.Why, Instead: r.Instead, HasRemedy: r.HasRemedy, Source: r.Source}
}

func encodeFindings(findings []workflow.PlanFinding) []*workflowv1.Finding {
	var out []*workflowv1.Finding
	for _, f := range findings {
		m := &workflowv1.Finding{Stage: f.Stage, Rule: encodeRule(f.Rule)}
		if o := f.Override; o != nil {
			m.Override = &workflowv1.Override{Rule: "rules/" + o.Rule, Stage: o.Stage, Person: id.Name("people", o.Person), PersonName: o.PersonName, Reason: o.Reason}
		}
		out = append(out, m)
	}
	return out
}

func finishPlanApproved(p workflow.FinishPlan, stages []workflow.Stage, given []workflow.PlanOverride) *eventsv1.FinishPlanApproved {
	return &eventsv1.FinishPlanApproved{PlanVersion: p.Version, Stages: stagesPlanned(stages).Stages, Overrides: ruleOverrides(given), Look: looksOf(p.Parts)}
}

// looksOf says how parts are to look, each look once.
func looksOf(parts []workflow.PlanPart) string {
	var looks []string
	for _, p := range parts {
		looks = append(looks, string(p.Look))
	}
	return eachOnce(looks)
}

func finishPlanAmended(a workflow.Amendment, given []workflow.PlanOverride) *eventsv1.FinishPlanAmended {
	e := &eventsv1.FinishPlanAmended{PlanVersion: a.Plan.Version, Added: stagesPlanned(a.Added).Stages, Changed: stagesPlanned(a.Changed).Stages, Overrides: ruleOverrides(given), Reason: a.Plan.Reason}
	for _, stage := range a.Dropped {
		e.DroppedStageIds = append(e.DroppedStageIds, stage.String())
	}
	return e
}

func ruleOverrides(overrides []workflow.PlanOverride) (out []*eventsv1.RuleOverride) {
	for _, o := range overrides {
		out = append(out, &eventsv1.RuleOverride{Rule: o.Rule, StageTitle: o.Stage, PersonId: o.Person.String(), PersonName: o.PersonName, Reason: o.Reason})
	}
	return out
}
