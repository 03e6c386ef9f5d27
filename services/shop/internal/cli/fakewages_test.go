package cli

import (
	"context"

	"google.golang.org/grpc"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// wages is what a fake shop pays by.
type wages struct {
	costingv1.UnimplementedPayRateServiceServer
	costingv1.UnimplementedPayRuleServiceServer
	f       *fake
	rules   []*costingv1.PayRule
	burdens []*costingv1.Burden
	week    *costingv1.PayrollWeek // nil: a plain one of Nell and Ruth
}

func (w *wages) register(s grpc.ServiceRegistrar) {
	costingv1.RegisterPayRateServiceServer(s, w)
	costingv1.RegisterPayRuleServiceServer(s, w)
}

func (w *wages) SetPayRate(_ context.Context, r *costingv1.SetPayRateRequest) (*costingv1.SetPayRateResponse, error) {
	return note(w.f, r, &costingv1.SetPayRateResponse{PayRate: &costingv1.PayRate{Person: r.Person, PerHour: r.PerHour, EffectiveDate: r.EffectiveDate}})
}

func (w *wages) SetPayRule(_ context.Context, r *costingv1.SetPayRuleRequest) (*costingv1.SetPayRuleResponse, error) {
	return note(w.f, r, &costingv1.SetPayRuleResponse{PayRule: r.PayRule})
}

func (w *wages) ListPayRules(context.Context, *costingv1.ListPayRulesRequest) (*costingv1.ListPayRulesResponse, error) {
	return &costingv1.ListPayRulesResponse{PayRules: w.rules}, nil
}

func (w *wages) SetBurden(_ context.Context, r *costingv1.SetBurdenRequest) (*costingv1.SetBurdenResponse, error) {
	return note(w.f, r, &costingv1.SetBurdenResponse{Burden: &costingv1.Burden{Person: r.Person, Percent: r.Percent, EffectiveDate: r.EffectiveDate, Ends: r.Ends}})
}

func (w *wages) ListBurdens(context.Context, *costingv1.ListBurdensRequest) (*costingv1.ListBurdensResponse, error) {
	return &costingv1.ListBurdensResponse{Burdens: w.burdens}, nil
}
