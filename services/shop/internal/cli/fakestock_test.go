package cli

import (
	"context"
	"errors"
	"io"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/durationpb"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// shelf is what the fake says of stock beside its products and issues, and notes of commands.
type shelf struct {
	materialsv1.UnimplementedCatalogueServiceServer
	materialsv1.UnimplementedSupplierServiceServer
	materialsv1.UnimplementedStockServiceServer
	materialsv1.UnimplementedMixServiceServer
	materialsv1.UnimplementedNeedServiceServer
	materialsv1.UnimplementedRestockServiceServer
	materialsv1.UnimplementedOrderServiceServer
	materialsv1.UnimplementedStorageServiceServer
	materialsv1.UnimplementedEquipmentServiceServer

	f         *fake
	lots      []*materialsv1.Lot
	suppliers []*materialsv1.Supplier
	offers    []*materialsv1.Offer
	places    []*materialsv1.Place
	recipes   []*materialsv1.Recipe
	mixes     []*materialsv1.Mix
	equipment []*materialsv1.Equipment
	orders    []*materialsv1.Order
	proposals []*materialsv1.OrderProposal
	advice    []*materialsv1.RestockAdvice
	alerts    []*materialsv1.Alert
	told      []*materialsv1.WatchAlertsResponse
	breaks    map[string]error // of a watch, once, after the position is told
	movements []*materialsv1.Movement
	checks    []*materialsv1.OilyWasteCheck
	recosted  []*materialsv1.Recosting
	imported  *materialsv1.ImportProductsResponse
	parts     int    // in which the last file came
	file      string // that came, and that is given
}

func (s *shelf) register(r grpc.ServiceRegistrar) {
	materialsv1.RegisterCatalogueServiceServer(r, s)
	materialsv1.RegisterSupplierServiceServer(r, s)
	materialsv1.RegisterStockServiceServer(r, s)
	materialsv1.RegisterMixServiceServer(r, s)
	materialsv1.RegisterNeedServiceServer(r, s)
	materialsv1.RegisterRestockServiceServer(r, s)
	materialsv1.RegisterOrderServiceServer(r, s)
	materialsv1.RegisterStorageServiceServer(r, s)
	materialsv1.RegisterEquipmentServiceServer(r, s)
}

// product is the one on the shelf.
func (s *shelf) product() *materialsv1.Product { return s.f.products[0] }

func (s *shelf) lot() *materialsv1.Lot {
	if len(s.lots) == 0 {
		return &materialsv1.Lot{}
	}
	return s.lots[0]
}

func (s *shelf) ReceiveDelivery(_ context.Context, r *materialsv1.ReceiveDeliveryRequest) (*materialsv1.ReceiveDeliveryResponse, error) {
	return note(s.f, r, &materialsv1.ReceiveDeliveryResponse{Products: s.f.products, Lots: s.lots, Recostings: s.recosted})
}

func (s *shelf) CorrectLotCost(_ context.Context, r *materialsv1.CorrectLotCostRequest) (*materialsv1.CorrectLotCostResponse, error) {
	return note(s.f, r, &materialsv1.CorrectLotCostResponse{Lot: &materialsv1.Lot{Cost: r.Cost, ReceiveTime: s.lot().ReceiveTime}, Product: s.product(), Recostings: s.recosted})
}

func (s *shelf) OpenPackage(_ context.Context, r *materialsv1.OpenPackageRequest) (*materialsv1.OpenPackageResponse, error) {
	return note(s.f, r, &materialsv1.OpenPackageResponse{Lot: s.lot(), Recostings: s.recosted})
}

func (s *shelf) MoveLot(_ context.Context, r *materialsv1.MoveLotRequest) (*materialsv1.MoveLotResponse, error) {
	return note(s.f, r, &materialsv1.MoveLotResponse{Lot: s.lot(), Recostings: s.recosted})
}

func (s *shelf) CloseLot(_ context.Context, r *materialsv1.CloseLotRequest) (*materialsv1.CloseLotResponse, error) {
	return note(s.f, r, &materialsv1.CloseLotResponse{Lot: s.lot(), Recostings: s.recosted})
}

func (s *shelf) ReturnMaterial(_ context.Context, r *materialsv1.ReturnMaterialRequest) (*materialsv1.ReturnMaterialResponse, error) {
	return note(s.f, r, &materialsv1.ReturnMaterialResponse{Issue: s.f.issues[0], Product: s.product(), Cost: usd(1_90), Recostings: s.recosted})
}

func (s *shelf) RecordWaste(_ context.Context, r *materialsv1.RecordWasteRequest) (*materialsv1.RecordWasteResponse, error) {
	return note(s.f, r, &materialsv1.RecordWasteResponse{Movement: &materialsv1.Movement{Cost: usd(-1_14)}, Product: s.product(), Recostings: s.recosted})
}

func (s *shelf) CountStock(_ context.Context, r *materialsv1.CountStockRequest) (*materialsv1.CountStockResponse, error) {
	return note(s.f, r, &materialsv1.CountStockResponse{Movement: &materialsv1.Movement{Cost: usd(-3_80)}, Difference: amount("-0.100000001", "L"), Product: s.product(), Recostings: s.recosted})
}

func (s *shelf) ListMovements(_ context.Context, r *materialsv1.ListMovementsRequest) (*materialsv1.ListMovementsResponse, error) {
	return asked(s.f, r, &materialsv1.ListMovementsResponse{Movements: s.movements})
}

func (s *shelf) UndoEntry(_ context.Context, r *materialsv1.UndoEntryRequest) (*materialsv1.UndoEntryResponse, error) {
	return note(s.f, r, &materialsv1.UndoEntryResponse{Product: s.product(), Recostings: s.recosted})
}

func (s *shelf) GetStockPolicy(context.Context, *materialsv1.GetStockPolicyRequest) (*materialsv1.GetStockPolicyResponse, error) {
	return &materialsv1.GetStockPolicyResponse{Policy: &materialsv1.StockPolicy{CostMethod: materialsv1.CostMethod_COST_METHOD_FIRST_IN_FIRST_OUT}}, nil
}

func (s *shelf) SetStockPolicy(_ context.Context, r *materialsv1.SetStockPolicyRequest) (*materialsv1.SetStockPolicyResponse, error) {
	return note(s.f, r, &materialsv1.SetStockPolicyResponse{Policy: &materialsv1.StockPolicy{CostMethod: r.CostMethod, Settled: true}})
}

func (s *shelf) ListNeeds(_ context.Context, r *materialsv1.ListNeedsRequest) (*materialsv1.ListNeedsResponse, error) {
	return asked(s.f, r, &materialsv1.ListNeedsResponse{Needs: []*materialsv1.Need{{ProductName: "Clear coat", Stage: "pieces/a/stages/2", StageTitle: "sand (case)", Pass: 2,
		State: materialsv1.Need_STATE_OPEN, Planned: amount("0.4", "L"), Expected: amount("0.5", "L"), Issued: amount("0.1", "L"), Reserved: amount("0.4", "L"), WantedTime: middayPlus(0)}}})
}

func (s *shelf) GetUsage(_ context.Context, r *materialsv1.GetUsageRequest) (*materialsv1.GetUsageResponse, error) {
	return asked(s.f, r, &materialsv1.GetUsageResponse{Usage: []*materialsv1.Usage{{ProductName: "Clear coat", Method: "hvlp", StageCount: 7, LeftOutCount: 1,
		Planned: amount("2", "L"), Actual: amount("2.5", "L"), Ratio: 1.25, UsageFactor: 1.2, UsageFactorLow: 1.05, UsageFactorHigh: 1.36}}})
}

func (s *shelf) ListStageUsage(_ context.Context, r *materialsv1.ListStageUsageRequest) (*materialsv1.ListStageUsageResponse, error) {
	return asked(s.f, r, &materialsv1.ListStageUsageResponse{Stages: []*materialsv1.StageUsage{{Stage: "pieces/a/stages/2", StageTitle: "sand (case)", Pass: 1, Method: "hvlp",
		DoneTime: middayPlus(0), Planned: amount("0.4", "L"), Actual: amount("40", "L"), Ratio: 100, LeftOutBecause: "it took a hundred times what was planned"}}})
}

func (s *shelf) GetRestockPolicy(context.Context, *materialsv1.GetRestockPolicyRequest) (*materialsv1.GetRestockPolicyResponse, error) {
	return &materialsv1.GetRestockPolicyResponse{Policy: &materialsv1.RestockPolicy{ServiceLevel: 0.95, DaysBetweenLooks: 1, OrderCost: usd(8_00), HoldingShare: 0.25, Etag: `"1"`}}, nil
}

func (s *shelf) SetRestockPolicy(_ context.Context, r *materialsv1.SetRestockPolicyRequest) (*materialsv1.SetRestockPolicyResponse, error) {
	return note(s.f, r, &materialsv1.SetRestockPolicyResponse{Policy: &materialsv1.RestockPolicy{ServiceLevel: r.ServiceLevel, DaysBetweenLooks: r.DaysBetweenLooks, OrderCost: r.OrderCost, HoldingShare: r.HoldingShare}})
}

func (s *shelf) ListRestockAdvice(_ context.Context, r *materialsv1.ListRestockAdviceRequest) (*materialsv1.ListRestockAdviceResponse, error) {
	return asked(s.f, r, &materialsv1.ListRestockAdviceResponse{Advice: s.advice})
}

func (s *shelf) ListAlerts(_ context.Context, r *materialsv1.ListAlertsRequest) (*materialsv1.ListAlertsResponse, error) {
	return asked(s.f, r, &materialsv1.ListAlertsResponse{Alerts: s.alerts})
}

func (s *shelf) WatchAlerts(r *materialsv1.WatchAlertsRequest, stream grpc.ServerStreamingServer[materialsv1.WatchAlertsResponse]) error {
	_, _ = asked(s.f, r, r)
	begun := r.Position == ""
	for _, told := range s.told {
		if begun {
			if err := stream.Send(told); err != nil {
				return err
			}
			if err := s.breaks[told.Position]; err != nil {
				delete(s.breaks, told.Position)
				return err
			}
		}
		begun = begun || told.Position == r.Position
	}
	return nil
}

func (s *shelf) ProposeOrders(_ context.Context, r *materialsv1.ProposeOrdersRequest) (*materialsv1.ProposeOrdersResponse, error) {
	return asked(s.f, r, &materialsv1.ProposeOrdersResponse{Proposals: s.proposals})
}

func (s *shelf) PlaceOrder(_ context.Context, r *materialsv1.PlaceOrderRequest) (*materialsv1.PlaceOrderResponse, error) {
	s.proposals = nil
	return note(s.f, r, &materialsv1.PlaceOrderResponse{Order: s.orders[0]})
}

func (s *shelf) GetOrder(context.Context, *materialsv1.GetOrderRequest) (*materialsv1.GetOrderResponse, error) {
	return &materialsv1.GetOrderResponse{Order: s.orders[0]}, nil
}

func (s *shelf) ListOrders(_ context.Context, r *materialsv1.ListOrdersRequest) (*materialsv1.ListOrdersResponse, error) {
	return asked(s.f, r, &materialsv1.ListOrdersResponse{Orders: s.orders})
}

func (s *shelf) CloseOrder(_ context.Context, r *materialsv1.CloseOrderRequest) (*materialsv1.CloseOrderResponse, error) {
	return note(s.f, r, &materialsv1.CloseOrderResponse{Order: s.orders[0]})
}

func (s *shelf) CancelOrder(_ context.Context, r *materialsv1.CancelOrderRequest) (*materialsv1.CancelOrderResponse, error) {
	return note(s.f, r, &materialsv1.CancelOrderResponse{Order: s.orders[0]})
}

func (s *shelf) ListEquipment(_ context.Context, r *materialsv1.ListEquipmentRequest) (*materialsv1.ListEquipmentResponse, error) {
	out := &materialsv1.ListEquipmentResponse{}
	for _, q := range s.equipment {
		out.Lines = append(out.Lines, &materialsv1.ListEquipmentResponse_Line{Equipment: q, Total: durationpb.New(5400e9), TotalCost: usd(4_50), ServiceDue: true})
	}
	return asked(s.f, r, out)
}

func (s *shelf) SaveEquipment(_ context.Context, r *materialsv1.SaveEquipmentRequest) (*materialsv1.SaveEquipmentResponse, error) {
	return note(s.f, r, &materialsv1.SaveEquipmentResponse{Equipment: r.Equipment})
}

func (s *shelf) RecordService(_ context.Context, r *materialsv1.RecordServiceRequest) (*materialsv1.RecordServiceResponse, error) {
	return note(s.f, r, &materialsv1.RecordServiceResponse{Service: &materialsv1.Service{ServicedBy: r.ServicedBy, Note: r.Note, CostNote: r.CostNote, Actor: "Odile"}})
}

func (s *shelf) ListServices(_ context.Context, r *materialsv1.ListServicesRequest) (*materialsv1.ListServicesResponse, error) {
	return asked(s.f, r, &materialsv1.ListServicesResponse{Services: []*materialsv1.Service{{ServiceTime: middayPlus(0), ServicedBy: "Bo", Actor: "Odile", Note: "new seals"}}})
}

func (s *shelf) ListEquipmentUse(_ context.Context, r *materialsv1.ListEquipmentUseRequest) (*materialsv1.ListEquipmentUseResponse, error) {
	return asked(s.f, r, &materialsv1.ListEquipmentUseResponse{TotalCost: usd(4_50), Lines: []*materialsv1.ListEquipmentUseResponse_Line{{DisplayName: "HVLP gun", Used: durationpb.New(5400e9), Cost: usd(4_50)}}})
}

func (s *shelf) ExportProducts(_ *materialsv1.ExportProductsRequest, out grpc.ServerStreamingServer[materialsv1.ExportProductsResponse]) error {
	for _, part := range []string{s.file[:3], s.file[3:]} {
		if err := out.Send(&materialsv1.ExportProductsResponse{Csv: []byte(part)}); err != nil {
			return err
		}
	}
	return nil
}

func (s *shelf) ExportOffers(_ *materialsv1.ExportOffersRequest, out grpc.ServerStreamingServer[materialsv1.ExportOffersResponse]) error {
	return out.Send(&materialsv1.ExportOffersResponse{Csv: []byte("offers: " + s.file)})
}

func (s *shelf) ImportOffers(in grpc.ClientStreamingServer[materialsv1.ImportOffersRequest, materialsv1.ImportOffersResponse]) error {
	r, err := in.Recv()
	if err != nil {
		return err
	}
	answer, err := note(s.f, r, &materialsv1.ImportOffersResponse{Added: s.imported.Added, Rejections: s.imported.Rejections, RejectionCount: s.imported.RejectionCount})
	if err != nil {
		return err
	}
	return in.SendAndClose(answer)
}

func (s *shelf) ImportProducts(in grpc.ClientStreamingServer[materialsv1.ImportProductsRequest, materialsv1.ImportProductsResponse]) error {
	s.file, s.parts = "", 0
	var last *materialsv1.ImportProductsRequest
	for {
		r, err := in.Recv()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		last, s.file, s.parts = r, s.file+string(r.Csv), s.parts+1
	}
	answer, err := note(s.f, &materialsv1.ImportProductsRequest{RequestId: last.RequestId, DryRun: last.DryRun}, s.imported)
	if err != nil {
		return err
	}
	return in.SendAndClose(answer)
}
