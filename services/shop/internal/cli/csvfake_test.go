package cli

import (
	"context"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *fake) ListDeadLetters(context.Context, *costingv1.ListDeadLettersRequest) (*costingv1.ListDeadLettersResponse, error) {
	return &costingv1.ListDeadLettersResponse{DeadLetters: []*costingv1.DeadLetter{{Name: "deadLetters/1", Producer: "sales", FirstTime: middayPlus(0), Error: "=1+1"}}}, nil
}

func (w *wages) ListPayRates(context.Context, *costingv1.ListPayRatesRequest) (*costingv1.ListPayRatesResponse, error) {
	return &costingv1.ListPayRatesResponse{PayRates: []*costingv1.PayRate{{Person: "people/n", PerHour: usd(18_50), EffectiveDate: march(2)}}}, nil
}

// withAll is a shop that has something for every list.
func withAll(t *testing.T) *fake {
	t.Helper()
	f := mixing(t)
	house := newHouse(t)
	f.pieces, f.joint.lots, f.joint.sets = house.pieces, house.joint.lots, house.joint.sets
	air := damp(t)
	f.zones, f.drying = air.zones, air.drying
	books := withAnswers(t)
	f.answers, f.books, f.costs = books.answers, books.books, books.costs
	f.plan = planned3(t).plan
	f.floorOfAll()
	buying(f)
	offering(f)
	keeping(f)
	selling(f)
	f.shelfOfAll()
	f.listings = []*salesv1.Listing{{Name: "listings/a", Piece: "pieces/a", Tag: 1, AskingPrice: usd(190_00), Sales: []*salesv1.Sale{{Name: "sales/1", Price: usd(175_00), Buyer: "@B"}}}}
	f.listings[0].Sales[0].Payments = f.till.sale.Payments
	f.wages.rules = []*costingv1.PayRule{{EffectiveDate: march(2), WeeklyOvertimeAfter: durationpb.New(40 * 3600e9)}}
	f.wages.burdens = []*costingv1.Burden{{Percent: "7.65", EffectiveDate: march(2)}}
	f.desk.rates = []*costingv1.OverheadRate{{PerHour: usd(6_50), EffectiveDate: march(2)}}
	f.desk.actuals = []*costingv1.OverheadActual{{Name: "overheadActuals/1", What: "-rent", Amount: usd(850_00), Date: march(1)}}
	f.desk.rules = &costingv1.GetAccountRulesResponse{Accounts: []*costingv1.GetAccountRulesResponse_Account{{Account: "wages_payable", Title: "Wages payable"}}}
	return f
}

func (f *fake) floorOfAll() {
	f.routes = []*workflowv1.Route{{Name: "routes/painted"}}
	f.entries = []*workflowv1.ClockEntry{{Name: "clockEntries/1", Person: "people/n", PersonName: "Nell", Stage: "pieces/a/stages/2", StartTime: middayPlus(0), EndTime: middayPlus(30)}}
	f.stations = []*workflowv1.Station{{Name: "stations/bench", DisplayName: "Bench"}}
	f.batches = []*workflowv1.Batch{{Name: "batches/1", DisplayName: "Fronts"}}
	f.outside = []*workflowv1.OutsideWork{{Name: "outsideWork/1", Piece: "pieces/a", PieceTag: 1, Firm: "Corbel Cane"}}
	f.reviews = []*workflowv1.ClockReview{{Name: "clockReviews/17", PersonName: "Nell", RaiseTime: middayPlus(0)}}
	f.inspections = []*workflowv1.Inspection{{Name: "inspections/1", Stage: "pieces/a/stages/2", PieceTag: 1, InspectTime: middayPlus(0)}}
	f.next = []*workflowv1.NextStage{{Stage: f.stages[1], PieceTag: 1}}
}

func (f *fake) shelfOfAll() {
	f.issues = []*materialsv1.Issue{{Name: "issues/1", ProductName: "Clear coat", Quantity: amount("0.1", "L"), Cost: usd(3_80), IssueTime: middayPlus(0)}}
	f.shelf.offers = []*materialsv1.Offer{{Supplier: "suppliers/a", SupplierName: "Acme", Product: "products/k", ProductName: "Clear coat", PackageLabel: "can"}}
	f.shelf.equipment = []*materialsv1.Equipment{{Name: "equipment/t", DisplayName: "Turbine", HourlyCost: usd(3_00)}}
	f.shelf.proposals = []*materialsv1.OrderProposal{{Supplier: "suppliers/a", SupplierName: "Acme", Total: usd(58_50)}}
	f.shelf.advice = []*materialsv1.RestockAdvice{{Product: "products/k", ProductName: "Clear coat", OnHand: amount("1", "L")}}
	f.shelf.alerts = []*materialsv1.Alert{{Name: "alerts/1", Kind: "low", Text: "=low", RaiseTime: middayPlus(0)}}
	f.shelf.movements = []*materialsv1.Movement{{Name: "movements/1", ProductName: "Clear coat", Time: middayPlus(0), Quantity: amount("-0.1", "L")}}
}

// stampNow is a time beside now.
func stampNow(d time.Duration) *timestamppb.Timestamp { return timestamppb.New(time.Now().Add(d)) }
