package cli

import (
	"context"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *fake) SaveZone(_ context.Context, r *workflowv1.SaveZoneRequest) (*workflowv1.SaveZoneResponse, error) {
	return note(f, r, &workflowv1.SaveZoneResponse{Zone: r.Zone})
}

func (f *fake) ListZones(context.Context, *workflowv1.ListZonesRequest) (*workflowv1.ListZonesResponse, error) {
	return &workflowv1.ListZonesResponse{Zones: f.zones}, nil
}

func (f *fake) RecordReading(_ context.Context, r *workflowv1.RecordReadingRequest) (*workflowv1.RecordReadingResponse, error) {
	return note(f, r, &workflowv1.RecordReadingResponse{})
}

func (f *fake) ImportReadings(_ context.Context, r *workflowv1.ImportReadingsRequest) (*workflowv1.ImportReadingsResponse, error) {
	return note(f, r, &workflowv1.ImportReadingsResponse{Recorded: 2, Duplicates: 1})
}

func (f *fake) ListReadings(_ context.Context, r *workflowv1.ListReadingsRequest) (*workflowv1.ListReadingsResponse, error) {
	var all []*workflowv1.Reading
	for _, z := range f.zones {
		if z.Name == r.Zone && r.PageToken == "" {
			all = append(all, z.LastReading)
		}
	}
	return &workflowv1.ListReadingsResponse{Readings: all}, nil
}

func (f *fake) GetConditions(_ context.Context, r *workflowv1.GetConditionsRequest) (*workflowv1.GetConditionsResponse, error) {
	out := &workflowv1.GetConditionsResponse{Reading: f.zones[0].LastReading, DewPointCelsius: 17.4, WoodMoisturePercent: 18.0, VapourPressureDeficitHpa: 3.5, FitForCoating: true}
	if r.Product == "products/k" {
		out.FitForCoating, out.Obstacles = false, []string{"the air is at 85 % relative humidity and must be at most 75 %"}
	}
	return out, nil
}

func (f *fake) ListDryClocks(_ context.Context, r *workflowv1.ListDryClocksRequest) (*workflowv1.ListDryClocksResponse, error) {
	out := &workflowv1.ListDryClocksResponse{}
	for _, c := range f.drying {
		if r.Zone == "" || r.Zone == c.Zone {
			out.DryClocks = append(out.DryClocks, c)
		}
	}
	return out, nil
}

func (f *fake) MoveDrying(_ context.Context, r *workflowv1.MoveDryingRequest) (*workflowv1.MoveDryingResponse, error) {
	return note(f, r, &workflowv1.MoveDryingResponse{DryClock: f.drying[0]})
}

func (f *fake) ObserveDrying(_ context.Context, r *workflowv1.ObserveDryingRequest) (*workflowv1.ObserveDryingResponse, error) {
	return note(f, r, &workflowv1.ObserveDryingResponse{DryClock: f.drying[0], Factor: 1.25, FactorLow: 0.9, FactorHigh: 1.7, Outcomes: 2})
}

func (f *fake) DraftFinishPlan(_ context.Context, r *workflowv1.DraftFinishPlanRequest) (*workflowv1.DraftFinishPlanResponse, error) {
	return note(f, r, &workflowv1.DraftFinishPlanResponse{Plan: f.plan})
}

func (f *fake) GetFinishPlan(_ context.Context, r *workflowv1.GetFinishPlanRequest) (*workflowv1.GetFinishPlanResponse, error) {
	if r.Name != "pieces/a" && r.Name != "pieces/a/finishPlans/3" {
		return nil, fault.New(fault.NotFound, "PLAN_NOT_FOUND", "There is no such plan.")
	}
	return &workflowv1.GetFinishPlanResponse{Plan: f.plan}, nil
}

func (f *fake) CheckFinishPlan(_ context.Context, r *workflowv1.CheckFinishPlanRequest) (*workflowv1.CheckFinishPlanResponse, error) {
	return &workflowv1.CheckFinishPlanResponse{Findings: f.plan.Findings, Needs: f.plan.Needs, CanBeApproved: len(r.Overrides) > 0}, nil
}

func (f *fake) ApproveFinishPlan(_ context.Context, r *workflowv1.ApproveFinishPlanRequest) (*workflowv1.ApproveFinishPlanResponse, error) {
	return note(f, r, &workflowv1.ApproveFinishPlanResponse{Plan: f.plan, Stages: f.stages})
}

func (f *fake) AmendFinishPlan(_ context.Context, r *workflowv1.AmendFinishPlanRequest) (*workflowv1.AmendFinishPlanResponse, error) {
	return note(f, r, &workflowv1.AmendFinishPlanResponse{Plan: f.plan, Stages: f.stages})
}

func (f *fake) ListRules(context.Context, *workflowv1.ListRulesRequest) (*workflowv1.ListRulesResponse, error) {
	return &workflowv1.ListRulesResponse{Rules: []*workflowv1.Rule{bleeding}}, nil
}

func (f *fake) ExplainRule(_ context.Context, r *workflowv1.ExplainRuleRequest) (*workflowv1.ExplainRuleResponse, error) {
	if r.Name != bleeding.Name {
		return nil, fault.New(fault.NotFound, "RULE_UNKNOWN", "There is no such rule.")
	}
	return &workflowv1.ExplainRuleResponse{Rule: bleeding}, nil
}

var bleeding = &workflowv1.Rule{Name: "rules/bleed-through", Severity: workflowv1.Rule_SEVERITY_STOP, Says: "A stain block comes first.", Why: "Tannin bleeds.", Instead: "Seal it.", Source: "common practice", HasRemedy: true}
