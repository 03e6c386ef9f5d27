package stock_test

import (
	"context"

	"google.golang.org/grpc"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

type storage struct {
	materialsv1.StorageServiceClient
	*shelf
}

func (c storage) ListPlaces(context.Context, *materialsv1.ListPlacesRequest, ...grpc.CallOption) (*materialsv1.ListPlacesResponse, error) {
	return &materialsv1.ListPlacesResponse{Places: []*materialsv1.Place{{Name: "places/shelf-2", DisplayName: "Second shelf"}}}, nil
}

func (c storage) ListExpiring(_ context.Context, r *materialsv1.ListExpiringRequest, _ ...grpc.CallOption) (*materialsv1.ListExpiringResponse, error) {
	return &materialsv1.ListExpiringResponse{}, c.ask("ListExpiring", r)
}

func (c storage) GetFlammables(_ context.Context, r *materialsv1.GetFlammablesRequest, _ ...grpc.CallOption) (*materialsv1.GetFlammablesResponse, error) {
	return c.flames, c.ask("GetFlammables", r)
}

func (c storage) GetOilyWaste(context.Context, *materialsv1.GetOilyWasteRequest, ...grpc.CallOption) (*materialsv1.GetOilyWasteResponse, error) {
	return &materialsv1.GetOilyWasteResponse{Open: true, Work: []*materialsv1.GetOilyWasteResponse_Work{{StageKind: "oil_coat", Person: "Bao", Open: true}}}, nil
}

func (c storage) GetEmissions(_ context.Context, r *materialsv1.GetEmissionsRequest, _ ...grpc.CallOption) (*materialsv1.GetEmissionsResponse, error) {
	if err := c.ask("GetEmissions", r); err != nil {
		return nil, err
	}
	grams := 2500.0
	return &materialsv1.GetEmissionsResponse{Year: r.Year, Month: r.Month, TotalGrams: grams, Incomplete: true,
		Coatings: []*materialsv1.EmissionLine{{Product: "products/oil", ProductName: "Hard wood oil", Grams: &grams}}}, nil
}

func (c storage) ListWaste(_ context.Context, r *materialsv1.ListWasteRequest, _ ...grpc.CallOption) (*materialsv1.ListWasteResponse, error) {
	return &materialsv1.ListWasteResponse{Waste: []*materialsv1.Waste{{ProductName: "Oat paint", Cause: materialsv1.WasteCause_WASTE_CAUSE_SPILT, Note: "<script>alert(1)</script>"}}}, c.ask("ListWaste", r)
}

func (c storage) ConfirmOilyWaste(_ context.Context, r *materialsv1.ConfirmOilyWasteRequest, _ ...grpc.CallOption) (*materialsv1.ConfirmOilyWasteResponse, error) {
	return &materialsv1.ConfirmOilyWasteResponse{}, c.ask("ConfirmOilyWaste", r)
}

type orders struct {
	materialsv1.OrderServiceClient
	*shelf
}

func (c orders) ProposeOrders(_ context.Context, r *materialsv1.ProposeOrdersRequest, _ ...grpc.CallOption) (*materialsv1.ProposeOrdersResponse, error) {
	return &materialsv1.ProposeOrdersResponse{Proposals: c.propose}, c.ask("ProposeOrders", r)
}

func (c orders) ListOrders(_ context.Context, r *materialsv1.ListOrdersRequest, _ ...grpc.CallOption) (*materialsv1.ListOrdersResponse, error) {
	if err := c.ask("ListOrders", r); err != nil {
		return nil, err
	}
	return &materialsv1.ListOrdersResponse{Orders: c.orders}, nil
}

func (c orders) PlaceOrder(_ context.Context, r *materialsv1.PlaceOrderRequest, _ ...grpc.CallOption) (*materialsv1.PlaceOrderResponse, error) {
	return &materialsv1.PlaceOrderResponse{}, c.ask("PlaceOrder", r)
}

func (c orders) CancelOrder(_ context.Context, r *materialsv1.CancelOrderRequest, _ ...grpc.CallOption) (*materialsv1.CancelOrderResponse, error) {
	return &materialsv1.CancelOrderResponse{}, c.ask("CancelOrder", r)
}

type suppliers struct {
	materialsv1.SupplierServiceClient
	*shelf
}

func (c suppliers) ListOffers(_ context.Context, r *materialsv1.ListOffersRequest, _ ...grpc.CallOption) (*materialsv1.ListOffersResponse, error) {
	return &materialsv1.ListOffersResponse{}, c.ask("ListOffers", r)
}

func (c suppliers) ListSuppliers(_ context.Context, r *materialsv1.ListSuppliersRequest, _ ...grpc.CallOption) (*materialsv1.ListSuppliersResponse, error) {
	return &materialsv1.ListSuppliersResponse{Suppliers: []*materialsv1.Supplier{{Name: "suppliers/1", DisplayName: "Vatman & Co"}}}, c.ask("ListSuppliers", r)
}

type needs struct {
	materialsv1.NeedServiceClient
	*shelf
}

func (c needs) ListNeeds(_ context.Context, r *materialsv1.ListNeedsRequest, _ ...grpc.CallOption) (*materialsv1.ListNeedsResponse, error) {
	return &materialsv1.ListNeedsResponse{Needs: c.wanted}, c.ask("ListNeeds", r)
}

func (c needs) GetUsage(_ context.Context, r *materialsv1.GetUsageRequest, _ ...grpc.CallOption) (*materialsv1.GetUsageResponse, error) {
	return &materialsv1.GetUsageResponse{Usage: []*materialsv1.Usage{{Method: "brush", StageCount: 3, UsageFactor: 1.2, UsageFactorLow: 1, UsageFactorHigh: 1.4}}}, c.ask("GetUsage", r)
}
