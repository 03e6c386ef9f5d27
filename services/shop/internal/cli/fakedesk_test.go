package cli

import (
	"context"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// desk is the part of the fake that keeps overhead and months.
type desk struct {
	costingv1.UnimplementedOverheadServiceServer
	costingv1.UnimplementedMonthServiceServer
	f       *fake
	rates   []*costingv1.OverheadRate
	unknown []*costingv1.UnknownStageKind
	left    []string
	closing *costingv1.GetClosingResponse // nil: nobody answers
	actuals []*costingv1.OverheadActual
	months  []*costingv1.Month
	trial   *costingv1.GetTrialBalanceResponse
	profit  *costingv1.GetProfitAndLossResponse
	sheet   *costingv1.GetBalanceSheetResponse
	rules   *costingv1.GetAccountRulesResponse
}

func (d *desk) register(s grpc.ServiceRegistrar) {
	costingv1.RegisterOverheadServiceServer(s, d)
	costingv1.RegisterMonthServiceServer(s, d)
}

func (d *desk) SetOverheadRate(_ context.Context, r *costingv1.SetOverheadRateRequest) (*costingv1.SetOverheadRateResponse, error) {
	return note(d.f, r, &costingv1.SetOverheadRateResponse{OverheadRate: &costingv1.OverheadRate{Department: r.Department, StageKinds: r.StageKinds, PerHour: r.PerHour}, UnknownStageKinds: d.unknown, LeftStageKinds: d.left})
}

func (d *desk) ListOverheadRates(_ context.Context, r *costingv1.ListOverheadRatesRequest) (*costingv1.ListOverheadRatesResponse, error) {
	return asked(d.f, r, &costingv1.ListOverheadRatesResponse{OverheadRates: d.rates})
}

func (d *desk) EnterOverheadActual(_ context.Context, r *costingv1.EnterOverheadActualRequest) (*costingv1.EnterOverheadActualResponse, error) {
	return note(d.f, r, &costingv1.EnterOverheadActualResponse{OverheadActual: &costingv1.OverheadActual{Name: "overheadActuals/x", What: r.What, Amount: r.Amount, Date: r.Date}})
}

func (d *desk) ListOverheadActuals(_ context.Context, r *costingv1.ListOverheadActualsRequest) (*costingv1.ListOverheadActualsResponse, error) {
	return asked(d.f, r, &costingv1.ListOverheadActualsResponse{OverheadActuals: d.actuals})
}

func (d *desk) TakeBackOverheadActual(_ context.Context, r *costingv1.TakeBackOverheadActualRequest) (*costingv1.TakeBackOverheadActualResponse, error) {
	return note(d.f, r, &costingv1.TakeBackOverheadActualResponse{OverheadActual: d.actuals[1]})
}

func (d *desk) CloseMonth(_ context.Context, r *costingv1.CloseMonthRequest) (*costingv1.CloseMonthResponse, error) {
	return note(d.f, r, &costingv1.CloseMonthResponse{Month: d.months[0]})
}

func (d *desk) ReopenMonth(_ context.Context, r *costingv1.ReopenMonthRequest) (*costingv1.ReopenMonthResponse, error) {
	return note(d.f, r, &costingv1.ReopenMonthResponse{Month: d.months[1]})
}

func (d *desk) ListMonths(_ context.Context, r *costingv1.ListMonthsRequest) (*costingv1.ListMonthsResponse, error) {
	return asked(d.f, r, &costingv1.ListMonthsResponse{Months: d.months})
}

func (d *desk) GetClosing(_ context.Context, r *costingv1.GetClosingRequest) (*costingv1.GetClosingResponse, error) {
	if d.closing == nil {
		return nil, fault.New(fault.Unavailable, "SERVICE_AWAY", "The books are away.")
	}
	return asked(d.f, r, d.closing)
}

func (d *desk) GetTrialBalance(_ context.Context, r *costingv1.GetTrialBalanceRequest) (*costingv1.GetTrialBalanceResponse, error) {
	return asked(d.f, r, d.trial)
}

func (d *desk) GetProfitAndLoss(_ context.Context, r *costingv1.GetProfitAndLossRequest) (*costingv1.GetProfitAndLossResponse, error) {
	return asked(d.f, r, d.profit)
}

func (d *desk) GetBalanceSheet(_ context.Context, r *costingv1.GetBalanceSheetRequest) (*costingv1.GetBalanceSheetResponse, error) {
	return asked(d.f, r, d.sheet)
}

func (d *desk) GetAccountRules(_ context.Context, r *costingv1.GetAccountRulesRequest) (*costingv1.GetAccountRulesResponse, error) {
	return asked(d.f, r, d.rules)
}
