package stock_test

import (
	"context"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/durationpb"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

type mixes struct {
	materialsv1.MixServiceClient
	*shelf
}

type equipment struct {
	materialsv1.EquipmentServiceClient
	*shelf
}

func (c equipment) ListEquipment(_ context.Context, r *materialsv1.ListEquipmentRequest, _ ...grpc.CallOption) (*materialsv1.ListEquipmentResponse, error) {
	if err := c.ask("ListEquipment", r); err != nil {
		return nil, err
	}
	return &materialsv1.ListEquipmentResponse{Lines: []*materialsv1.ListEquipmentResponse_Line{{Equipment: &materialsv1.Equipment{Name: "equipment/1", DisplayName: "Turbine", ServiceHours: 50},
		SinceService: durationpb.New(51 * time.Hour), ServiceDue: true}}}, nil
}

func (c equipment) RecordService(_ context.Context, r *materialsv1.RecordServiceRequest, _ ...grpc.CallOption) (*materialsv1.RecordServiceResponse, error) {
	return &materialsv1.RecordServiceResponse{}, c.ask("RecordService", r)
}

func (c entries) OpenPackage(_ context.Context, r *materialsv1.OpenPackageRequest, _ ...grpc.CallOption) (*materialsv1.OpenPackageResponse, error) {
	return &materialsv1.OpenPackageResponse{}, c.ask("OpenPackage", r)
}

func (c entries) MoveLot(_ context.Context, r *materialsv1.MoveLotRequest, _ ...grpc.CallOption) (*materialsv1.MoveLotResponse, error) {
	return &materialsv1.MoveLotResponse{}, c.ask("MoveLot", r)
}

func (c entries) RecordWaste(_ context.Context, r *materialsv1.RecordWasteRequest, _ ...grpc.CallOption) (*materialsv1.RecordWasteResponse, error) {
	return &materialsv1.RecordWasteResponse{}, c.ask("RecordWaste", r)
}

func (c entries) CloseLot(_ context.Context, r *materialsv1.CloseLotRequest, _ ...grpc.CallOption) (*materialsv1.CloseLotResponse, error) {
	return &materialsv1.CloseLotResponse{}, c.ask("CloseLot", r)
}

func (c entries) CorrectLotCost(_ context.Context, r *materialsv1.CorrectLotCostRequest, _ ...grpc.CallOption) (*materialsv1.CorrectLotCostResponse, error) {
	return &materialsv1.CorrectLotCostResponse{}, c.ask("CorrectLotCost", r)
}

func (c entries) UndoEntry(_ context.Context, r *materialsv1.UndoEntryRequest, _ ...grpc.CallOption) (*materialsv1.UndoEntryResponse, error) {
	return &materialsv1.UndoEntryResponse{}, c.ask("UndoEntry", r)
}

func (c entries) SetStockPolicy(_ context.Context, r *materialsv1.SetStockPolicyRequest, _ ...grpc.CallOption) (*materialsv1.SetStockPolicyResponse, error) {
	return &materialsv1.SetStockPolicyResponse{}, c.ask("SetStockPolicy", r)
}

func (c entries) GetStockPolicy(_ context.Context, r *materialsv1.GetStockPolicyRequest, _ ...grpc.CallOption) (*materialsv1.GetStockPolicyResponse, error) {
	return &materialsv1.GetStockPolicyResponse{Policy: &materialsv1.StockPolicy{CostMethod: 1, Etag: "7"}}, c.ask("GetStockPolicy", r)
}

func (c mixes) ListRecipes(_ context.Context, r *materialsv1.ListRecipesRequest, _ ...grpc.CallOption) (*materialsv1.ListRecipesResponse, error) {
	return &materialsv1.ListRecipesResponse{Recipes: c.recipes}, c.ask("ListRecipes", r)
}

func (c mixes) ListMixes(_ context.Context, r *materialsv1.ListMixesRequest, _ ...grpc.CallOption) (*materialsv1.ListMixesResponse, error) {
	return &materialsv1.ListMixesResponse{Mixes: []*materialsv1.Mix{{Name: "mixes/3", Number: 3}, {Name: "mixes/4", Number: 4, Undone: true}}}, c.ask("ListMixes", r)
}

func (c mixes) MakeMix(_ context.Context, r *materialsv1.MakeMixRequest, _ ...grpc.CallOption) (*materialsv1.MakeMixResponse, error) {
	return &materialsv1.MakeMixResponse{}, c.ask("MakeMix", r)
}

func (c mixes) UndoMix(_ context.Context, r *materialsv1.UndoMixRequest, _ ...grpc.CallOption) (*materialsv1.UndoMixResponse, error) {
	return &materialsv1.UndoMixResponse{}, c.ask("UndoMix", r)
}

func (c suppliers) SetOffer(_ context.Context, r *materialsv1.SetOfferRequest, _ ...grpc.CallOption) (*materialsv1.SetOfferResponse, error) {
	return &materialsv1.SetOfferResponse{}, c.ask("SetOffer", r)
}

func (c suppliers) RemoveOffer(_ context.Context, r *materialsv1.RemoveOfferRequest, _ ...grpc.CallOption) (*materialsv1.RemoveOfferResponse, error) {
	return &materialsv1.RemoveOfferResponse{}, c.ask("RemoveOffer", r)
}

func (c suppliers) AddSupplier(_ context.Context, r *materialsv1.AddSupplierRequest, _ ...grpc.CallOption) (*materialsv1.AddSupplierResponse, error) {
	return &materialsv1.AddSupplierResponse{}, c.ask("AddSupplier", r)
}

func (c suppliers) ChangeSupplier(_ context.Context, r *materialsv1.ChangeSupplierRequest, _ ...grpc.CallOption) (*materialsv1.ChangeSupplierResponse, error) {
	return &materialsv1.ChangeSupplierResponse{}, c.ask("ChangeSupplier", r)
}

func (c storage) SavePlace(_ context.Context, r *materialsv1.SavePlaceRequest, _ ...grpc.CallOption) (*materialsv1.SavePlaceResponse, error) {
	return &materialsv1.SavePlaceResponse{}, c.ask("SavePlace", r)
}

func (c storage) WithdrawOilyWasteCheck(_ context.Context, r *materialsv1.WithdrawOilyWasteCheckRequest, _ ...grpc.CallOption) (*materialsv1.WithdrawOilyWasteCheckResponse, error) {
	return &materialsv1.WithdrawOilyWasteCheckResponse{}, c.ask("WithdrawOilyWasteCheck", r)
}

func (c restock) GetRestockPolicy(_ context.Context, r *materialsv1.GetRestockPolicyRequest, _ ...grpc.CallOption) (*materialsv1.GetRestockPolicyResponse, error) {
	return &materialsv1.GetRestockPolicyResponse{Policy: &materialsv1.RestockPolicy{ServiceLevel: 0.29, DaysBetweenLooks: 1, OrderCost: euros(6), HoldingShare: 0.25, Etag: "3"}}, c.ask("GetRestockPolicy", r)
}

func (c restock) SetRestockPolicy(_ context.Context, r *materialsv1.SetRestockPolicyRequest, _ ...grpc.CallOption) (*materialsv1.SetRestockPolicyResponse, error) {
	return &materialsv1.SetRestockPolicyResponse{}, c.ask("SetRestockPolicy", r)
}

func (c materials) AddProduct(_ context.Context, r *materialsv1.AddProductRequest, _ ...grpc.CallOption) (*materialsv1.AddProductResponse, error) {
	return &materialsv1.AddProductResponse{Product: &materialsv1.Product{Name: "products/wax"}}, c.ask("AddProduct", r)
}

func (c catalogue) RenameProduct(_ context.Context, r *materialsv1.RenameProductRequest, _ ...grpc.CallOption) (*materialsv1.RenameProductResponse, error) {
	return &materialsv1.RenameProductResponse{}, c.write("RenameProduct", r.Etag, r, func(p *materialsv1.Product) { p.DisplayName = r.DisplayName })
}

func (c catalogue) SetPackages(_ context.Context, r *materialsv1.SetPackagesRequest, _ ...grpc.CallOption) (*materialsv1.SetPackagesResponse, error) {
	return &materialsv1.SetPackagesResponse{}, c.write("SetPackages", r.Etag, r, func(p *materialsv1.Product) { p.Packages = r.Packages })
}
