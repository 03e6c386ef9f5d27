package server_test

import (
	"testing"

	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// All that happens to stock is recomputed to the last row, also what becomes known of a piece's
// material after it was sold; and the balances are what was told.
func TestServer_StockVerifies(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece, lacquer := o.takenIn(7, 1_000), id.New()
	out, back := id.New().String(), id.New().String()
	o.sold(piece, 9_000)
	tell := func(about id.ID, e *eventsv1.Envelope) { o.from["materials"].add(lacquer, about, e) }
	tell(id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_StockReceived{StockReceived: &eventsv1.StockReceived{Cost: usd(5_000)}}})
	tell(piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{IssueId: out, StageKind: "topcoat_coat", Pass: 1, Cost: usd(800)}}})
	tell(piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialReturned{MaterialReturned: &eventsv1.MaterialReturned{ReturnId: back, IssueId: out, StageKind: "topcoat_coat", Pass: 1, Cost: usd(300)}}})
	tell(piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialWasted{MaterialWasted: &eventsv1.MaterialWasted{Cause: "gun cleaning", StageId: id.New().String(), StageKind: "topcoat_coat", Pass: 1, Cost: usd(50)}}})
	tell(id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialWasted{MaterialWasted: &eventsv1.MaterialWasted{Cause: "spilt", Cost: usd(200)}}})
	tell(id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_StockCounted{StockCounted: &eventsv1.StockCounted{CostDifference: usd(-30)}}})
	tell(id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_LotCostCorrected{LotCostCorrected: &eventsv1.LotCostCorrected{OldCost: usd(5_000), NewCost: usd(5_500)}}})
	tell(piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialRecosted{MaterialRecosted: &eventsv1.MaterialRecosted{Lines: []*eventsv1.MaterialRecosted_Line{
		{EntryId: out, StageKind: "topcoat_coat", Pass: 1, OldCost: usd(800), NewCost: usd(880)}, {EntryId: back, StageKind: "topcoat_coat", Pass: 1, OldCost: usd(-300), NewCost: usd(-330)}}}}})
	tell(id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_StockRecosted{StockRecosted: &eventsv1.StockRecosted{Lines: []*eventsv1.StockRecosted_Line{
		{EntryId: id.New().String(), Purpose: "waste", OldCost: usd(200), NewCost: usd(220)}, {EntryId: id.New().String(), Purpose: "count", OldCost: usd(30), NewCost: usd(33)}}}}})

	const material = 880 - 330 + 50
	c := o.cost(t, piece, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Material) == material && cents(c.Sums.Acquisition) == 1_000 && cents(c.Sums.Revenue) == 9_000
	})
	if got := cents(c.Sums.Profit); got != 9_000-1_000-material || c.Provisional {
		t.Errorf("profit = %d, provisional %v, want %d for good", got, c.Provisional, 9_000-1_000-material)
	}
	o.clean(t)
	shop, err := o.costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	balances := map[string]int64{}
	for _, a := range shop.Accounts {
		balances[a.Account] = cents(a.Balance)
	}
	for account, want := range map[string]int64{"materials_on_hand": 5_500 - material - 220 - 33, "overhead_actual": 220, "inventory_adjustments": 33,
		"cost_of_goods_sold": 1_000 + material, "work_in_process": 0} {
		if balances[account] != want {
			t.Errorf("%s = %d, want %d", account, balances[account], want)
		}
	}
}
