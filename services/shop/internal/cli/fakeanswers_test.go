package cli

import (
	"context"

	"google.golang.org/grpc"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// answers are what the fake's books answer an owner.
type answers struct {
	lines    []*costingv1.CostLine
	actuals  *costingv1.ListPlanActualsResponse
	earnings *costingv1.ListEarningsResponse
	rework   *costingv1.ListReworkResponse
	hand     *costingv1.ListWorkInProcessResponse
	tied     *costingv1.GetCashTiedUpResponse
	outcome  *costingv1.PriceWhatIfResponse
	states   []*costingv1.WatchShopResponse
	journal  [][]*costingv1.JournalEntry // by page
	breaks   error                       // instead of the journal's last page
	rebuilt  *costingv1.RebuildResponse
}

func (f *fake) ListCostLines(_ context.Context, r *costingv1.ListCostLinesRequest) (*costingv1.ListCostLinesResponse, error) {
	f.asks = append(f.asks, r)
	return &costingv1.ListCostLinesResponse{Lines: f.answers.lines}, nil
}

func (f *fake) SetStandardRate(_ context.Context, r *costingv1.SetStandardRateRequest) (*costingv1.SetStandardRateResponse, error) {
	return note(f, r, &costingv1.SetStandardRateResponse{StandardRate: &costingv1.StandardRate{PerHour: r.PerHour, EffectiveDate: r.EffectiveDate}})
}

func (f *fake) ListStandardRates(context.Context, *costingv1.ListStandardRatesRequest) (*costingv1.ListStandardRatesResponse, error) {
	return &costingv1.ListStandardRatesResponse{StandardRates: []*costingv1.StandardRate{{PerHour: usd(24_00), EffectiveDate: date2026(3, 2), Actor: "Odile"}}}, nil
}

func (f *fake) ListPlanActuals(_ context.Context, r *costingv1.ListPlanActualsRequest) (*costingv1.ListPlanActualsResponse, error) {
	f.asks = append(f.asks, r)
	return f.answers.actuals, nil
}

func (f *fake) ListEarnings(_ context.Context, r *costingv1.ListEarningsRequest) (*costingv1.ListEarningsResponse, error) {
	f.asks = append(f.asks, r)
	return f.answers.earnings, nil
}

func (f *fake) ListRework(_ context.Context, r *costingv1.ListReworkRequest) (*costingv1.ListReworkResponse, error) {
	f.asks = append(f.asks, r)
	return f.answers.rework, nil
}

func (f *fake) ListWorkInProcess(_ context.Context, r *costingv1.ListWorkInProcessRequest) (*costingv1.ListWorkInProcessResponse, error) {
	f.asks = append(f.asks, r)
	return f.answers.hand, nil
}

func (f *fake) GetCashTiedUp(_ context.Context, r *costingv1.GetCashTiedUpRequest) (*costingv1.GetCashTiedUpResponse, error) {
	f.asks = append(f.asks, r)
	return f.answers.tied, nil
}

func (f *fake) PriceWhatIf(_ context.Context, r *costingv1.PriceWhatIfRequest) (*costingv1.PriceWhatIfResponse, error) {
	f.asks = append(f.asks, r)
	return f.answers.outcome, nil
}

func (f *fake) WatchShop(_ *costingv1.WatchShopRequest, stream grpc.ServerStreamingServer[costingv1.WatchShopResponse]) error {
	for _, s := range f.answers.states {
		if err := stream.Send(s); err != nil {
			return err
		}
	}
	return nil
}

// ListJournal gives a page for each token, which is the page's number.
func (f *fake) ListJournal(_ context.Context, r *costingv1.ListJournalRequest) (*costingv1.ListJournalResponse, error) {
	f.asks = append(f.asks, r)
	n := len(r.PageToken)
	if n == len(f.answers.journal)-1 {
		return &costingv1.ListJournalResponse{Entries: f.answers.journal[n], Position: 4711}, f.answers.breaks
	}
	return &costingv1.ListJournalResponse{Entries: f.answers.journal[n], NextPageToken: r.PageToken + "x", Position: 4711}, nil
}

func (f *fake) Rebuild(context.Context, *costingv1.RebuildRequest) (*costingv1.RebuildResponse, error) {
	return f.answers.rebuilt, nil
}
