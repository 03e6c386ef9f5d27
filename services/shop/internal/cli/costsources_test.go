package cli

import (
	"context"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

func (f *fake) CompareSources(_ context.Context, r *costingv1.CompareSourcesRequest) (*costingv1.CompareSourcesResponse, error) {
	f.asks = append(f.asks, r)
	days := 8.26
	few := &costingv1.SourceCompared{Title: "church sale", Bought: 3, Unsold: 1, Sold: 2, MedianDays: &days, Paid: usd(30_00), Profit: usd(52_00), Time: durationpb.New(3 * time.Hour),
		Lost: usd(0), ProfitPerLabourHour: usd(17_33), PerHourLow: usd(-4_00), PerHourHigh: usd(38_66), PerHourPooled: usd(16_20), Few: true}
	none := &costingv1.SourceCompared{Bought: 1, GivenUp: 1, Paid: usd(1_00), Profit: usd(0), Lost: usd(3_00), Few: true}
	return &costingv1.CompareSourcesResponse{Sources: []*costingv1.SourceCompared{few, none}, Total: few}, nil
}

func TestCost_Sources(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.asksFor(t, line("cost sources --from 2026-03-02 --to 2026-03-31"), &costingv1.CompareSourcesRequest{FromDate: date2026(3, 2), ToDate: date2026(3, 31)})
	f.says(t, line("cost sources"), "church sale 3 1 2 0 0.00 8.3 30.00 52.00 3:00 17.33 -4.00 38.66 16.20*", "not said 1 0 0 1 3.00 – 1.00 0.00", "– – – –", "*  fewer than five were sold")
	f.refuses(t, line("cost sources --month 2026-03 --from 2026-03-01"), "use one of them")
}
