package server_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// knowing is what a fake shop's other services know of pieces that it does not have: everything for
// sure, so that advice can be worked out by hand.
type knowing struct {
	salesv1.UnimplementedPriceAdviceServiceServer
	workflowv1.UnimplementedEstimateServiceServer
	benchRig
	materialsv1.UnimplementedMaterialsServiceServer
	mu                            sync.Mutex
	sale                          *salesv1.AdviseSaleRequest // that was asked last
	estimate                      *workflowv1.EstimateFinishRequest
	saleErr, estimateErr, costErr error
	market                        *salesv1.AdviseSaleResponse
	work                          *workflowv1.EstimateFinishResponse
	products                      map[string]*materialsv1.Product
	lots                          map[string][][]*materialsv1.Lot // in pages
}

func newKnowing() *knowing {
	litre := func(v string) *typev1.Quantity { return &typev1.Quantity{Value: v, Unit: "L"} }
	return &knowing{
		market: &salesv1.AdviseSaleResponse{HoldingPerDay: usd(50), HoldingSaidOf: typev1.PieceSize_PIECE_SIZE_MEDIUM, FeePercent: 10, Forecast: &salesv1.SaleForecast{
			PriceLikely: usd(600_00), SoldBy: []*salesv1.SoldBy{{Day: 9, Share: 0}, {Day: 9, Share: 1}},
			Basis: &salesv1.Basis{Sales: 90, SalesOfKind: 4, Belief: 0.5, TooFew: true, Examples: []*salesv1.Basis_Example{
				{Tag: 1, Title: "Oak dresser", Price: usd(580_00), Days: 12}, {Tag: 2}, {Tag: 3}, {Tag: 4}, {Tag: 5}, {Tag: 6}}}}},
		work: &workflowv1.EstimateFinishResponse{AttendedMinutes: 300, AttendedMinutesLow: 300, AttendedMinutesHigh: 300, AttendedMinutesLearned: 75, LeastDays: 4,
			Cautions: []*workflowv1.Caution{{Id: "lead", Text: "Test it first."}},
			Needs:    []*workflowv1.MaterialNeed{{ProductName: "shellac", Needed: litre("0.5")}}},
		products: map[string]*materialsv1.Product{
			"products/full": {OnHand: litre("2"), Value: usd(30_00)}, "products/empty": {OnHand: litre("0"), Value: usd(0)}, "products/never": {OnHand: litre("0")}},
		lots: map[string][][]*materialsv1.Lot{"products/empty": {
			{{Received: litre("1"), Cost: usd(1_00)}},
			{{Received: litre("4"), Cost: usd(10_00)}, {Received: litre("1"), Cost: usd(99_00), PartOf: "products/empty/lots/x"}}}},
	}
}

func (k *knowing) register(r grpc.ServiceRegistrar) {
	salesv1.RegisterPriceAdviceServiceServer(r, k)
	workflowv1.RegisterEstimateServiceServer(r, k)
	k.benchRig.register(r)
	materialsv1.RegisterMaterialsServiceServer(r, k)
}

func (k *knowing) AdviseSale(_ context.Context, r *salesv1.AdviseSaleRequest) (*salesv1.AdviseSaleResponse, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.sale = r
	return k.market, k.saleErr
}

func (k *knowing) EstimateFinish(_ context.Context, r *workflowv1.EstimateFinishRequest) (*workflowv1.EstimateFinishResponse, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.estimate = r
	return k.work, k.estimateErr
}

func (k *knowing) GetProduct(_ context.Context, r *materialsv1.GetProductRequest) (*materialsv1.GetProductResponse, error) {
	p := k.products[r.Name]
	if p == nil && k.costErr == nil {
		return nil, fault.New(fault.NotFound, "PRODUCT_NOT_FOUND", "There is no such product.")
	}
	return &materialsv1.GetProductResponse{Product: p}, k.costErr
}

func (k *knowing) ListLots(_ context.Context, r *materialsv1.ListLotsRequest) (*materialsv1.ListLotsResponse, error) {
	pages := k.lots[r.Product]
	if !r.ShowUsedUp || len(pages) == 0 {
		return &materialsv1.ListLotsResponse{}, nil
	}
	if r.PageToken == "" {
		return &materialsv1.ListLotsResponse{Lots: pages[0], NextPageToken: "more"}, nil
	}
	return &materialsv1.ListLotsResponse{Lots: pages[1]}, nil
}

// sighting is a dresser that everybody knows for sure what to think of.
func sighting() *intakev1.Sighting {
	return &intakev1.Sighting{
		Title: "Pine dresser", Kind: "dresser", Size: typev1.PieceSize_PIECE_SIZE_LARGE, Material: "veneer", Species: "pine", OldFinish: "latex paint", PaintedIn: 1970,
		Defects: []string{"burn", "odour"}, ExtraCost: usd(10_00), Look: "paint", AskingPrice: usd(150_00), DistanceKm: 25, Source: "church sale",
		SellsLow: usd(500_00), SellsHigh: usd(700_00), Channel: "shop", Note: "mirror missing",
	}
}

// sayTerms says what an hour is to earn: 30.00 beside the 20.00 that it costs.
func (b *bundle) sayTerms(t testing.TB) *intakev1.BuyingTerms {
	t.Helper()
	r, err := b.SetBuyingTerms(svctest.Ctx(t), &intakev1.SetBuyingTermsRequest{RequestId: svctest.NewID(),
		Terms: &intakev1.BuyingTerms{TargetPerHour: usd(30_00), LabourPerHour: usd(20_00), TravelPerKm: usd(50)}})
	if err != nil {
		t.Fatal(err)
	}
	return r.Terms
}

func (b *bundle) advice(t testing.TB, r *intakev1.AdvisePurchaseRequest) *intakev1.Advice {
	t.Helper()
	got, err := b.AdvisePurchase(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return got.Advice
}

func spot() *intakev1.AddProspectRequest {
	return &intakev1.AddProspectRequest{RequestId: svctest.NewID(), Sighting: sighting(), SeenTime: timestamppb.New(time.Date(2026, 3, 3, 2, 0, 0, 0, time.UTC))}
}

func (b *bundle) spotted(t testing.TB, r *intakev1.AddProspectRequest) *intakev1.Prospect {
	t.Helper()
	got, err := b.AddProspect(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return got.Prospect
}

func buy(prospect string) *intakev1.BuyProspectRequest {
	return &intakev1.BuyProspectRequest{RequestId: svctest.NewID(), Prospect: prospect, Price: usd(140_00)}
}
