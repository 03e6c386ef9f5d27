package cli

import (
	"context"
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

func usd(minor int64) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: minor / 100, Nanos: int32(minor % 100 * 10_000_000)}
}

func amount(value, unit string) *typev1.Quantity { return &typev1.Quantity{Value: value, Unit: unit} }

func (f *fake) GetShop(context.Context, *intakev1.GetShopRequest) (*intakev1.GetShopResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.asked++
	return &intakev1.GetShopResponse{CurrencyCode: f.currency, TimeZone: f.zone}, nil
}

func (f *fake) GetPiece(_ context.Context, r *intakev1.GetPieceRequest) (*intakev1.GetPieceResponse, error) {
	for _, p := range f.pieces {
		if r.Name == p.Name || r.Name == fmt.Sprintf("pieces/tag:%d", p.Tag) {
			return &intakev1.GetPieceResponse{Piece: p}, nil
		}
	}
	return nil, errNoPiece
}

func (f *fake) ListPieces(context.Context, *intakev1.ListPiecesRequest) (*intakev1.ListPiecesResponse, error) {
	return &intakev1.ListPiecesResponse{Pieces: f.pieces}, nil
}

func (f *fake) TakeInPiece(_ context.Context, r *intakev1.TakeInPieceRequest) (*intakev1.TakeInPieceResponse, error) {
	return note(f, r, &intakev1.TakeInPieceResponse{Piece: &intakev1.Piece{Tag: 2, Title: r.Title}})
}

func (f *fake) ListPeople(context.Context, *workflowv1.ListPeopleRequest) (*workflowv1.ListPeopleResponse, error) {
	return &workflowv1.ListPeopleResponse{People: f.people}, nil
}

func (f *fake) AddPerson(_ context.Context, r *workflowv1.AddPersonRequest) (*workflowv1.AddPersonResponse, error) {
	return note(f, r, &workflowv1.AddPersonResponse{})
}

func (f *fake) UpdatePerson(_ context.Context, r *workflowv1.UpdatePersonRequest) (*workflowv1.UpdatePersonResponse, error) {
	return note(f, r, &workflowv1.UpdatePersonResponse{Person: r.Person})
}

func (f *fake) ListRoutes(context.Context, *workflowv1.ListRoutesRequest) (*workflowv1.ListRoutesResponse, error) {
	return &workflowv1.ListRoutesResponse{Routes: f.routes}, nil
}

func (f *fake) SaveRoute(_ context.Context, r *workflowv1.SaveRouteRequest) (*workflowv1.SaveRouteResponse, error) {
	return note(f, r, &workflowv1.SaveRouteResponse{Route: r.Route})
}

func (f *fake) ListStages(context.Context, *workflowv1.ListStagesRequest) (*workflowv1.ListStagesResponse, error) {
	return &workflowv1.ListStagesResponse{Stages: f.stages}, nil
}

func (f *fake) PlanStages(_ context.Context, r *workflowv1.PlanStagesRequest) (*workflowv1.PlanStagesResponse, error) {
	return note(f, r, &workflowv1.PlanStagesResponse{})
}

func (f *fake) AssignStage(_ context.Context, r *workflowv1.AssignStageRequest) (*workflowv1.AssignStageResponse, error) {
	return note(f, r, &workflowv1.AssignStageResponse{Stage: f.stages[0], Absence: "Nell is away today."})
}

func (f *fake) ClockOn(_ context.Context, r *workflowv1.ClockOnRequest) (*workflowv1.ClockOnResponse, error) {
	e := &workflowv1.ClockEntry{Stage: r.Stage, Batch: r.Batch, Indirect: r.Indirect, StartTime: r.StartTime, PieceTag: 1}
	return note(f, r, &workflowv1.ClockOnResponse{ClockEntry: e, ClockEntries: []*workflowv1.ClockEntry{e, e}, Notices: f.notices})
}

func (f *fake) ClockOff(_ context.Context, r *workflowv1.ClockOffRequest) (*workflowv1.ClockOffResponse, error) {
	e := &workflowv1.ClockEntry{Stage: "pieces/a/stages/2", StageKind: "sand", PieceTag: 1, EndTime: r.EndTime,
		StartTime: &timestamppb.Timestamp{Seconds: r.EndTime.GetSeconds() - 1800}}
	return note(f, r, &workflowv1.ClockOffResponse{ClockEntry: e})
}

func (f *fake) CorrectClockEntry(_ context.Context, r *workflowv1.CorrectClockEntryRequest) (*workflowv1.CorrectClockEntryResponse, error) {
	return note(f, r, &workflowv1.CorrectClockEntryResponse{CorrectedEntries: f.entries})
}

func (f *fake) RecordClockEntry(_ context.Context, r *workflowv1.RecordClockEntryRequest) (*workflowv1.RecordClockEntryResponse, error) {
	return note(f, r, &workflowv1.RecordClockEntryResponse{ClockEntry: &workflowv1.ClockEntry{Name: "clockEntries/9", PersonName: "Nell", Stage: r.Stage,
		PieceTag: 1, StartTime: r.StartTime, EndTime: r.EndTime, Pass: 1, Reason: r.Reason, Actor: "Odile"}})
}

func (f *fake) ListClockEntries(context.Context, *workflowv1.ListClockEntriesRequest) (*workflowv1.ListClockEntriesResponse, error) {
	return &workflowv1.ListClockEntriesResponse{ClockEntries: f.entries}, nil
}

func (f *fake) ListProducts(context.Context, *materialsv1.ListProductsRequest) (*materialsv1.ListProductsResponse, error) {
	return &materialsv1.ListProductsResponse{Products: f.products}, nil
}

func (f *fake) GetProduct(_ context.Context, r *materialsv1.GetProductRequest) (*materialsv1.GetProductResponse, error) {
	p, err := client.ProductOf(f.products, r.Name)
	return &materialsv1.GetProductResponse{Product: p}, err
}

func (f *fake) ListLots(context.Context, *materialsv1.ListLotsRequest) (*materialsv1.ListLotsResponse, error) {
	return &materialsv1.ListLotsResponse{Lots: f.shelf.lots}, nil
}

func (f *fake) AddProduct(_ context.Context, r *materialsv1.AddProductRequest) (*materialsv1.AddProductResponse, error) {
	return note(f, r, &materialsv1.AddProductResponse{Product: f.products[0]})
}

func (f *fake) ReceiveStock(_ context.Context, r *materialsv1.ReceiveStockRequest) (*materialsv1.ReceiveStockResponse, error) {
	return note(f, r, &materialsv1.ReceiveStockResponse{Product: f.products[0], Recostings: f.shelf.recosted})
}

func (f *fake) IssueMaterial(_ context.Context, r *materialsv1.IssueMaterialRequest) (*materialsv1.IssueMaterialResponse, error) {
	return note(f, r, &materialsv1.IssueMaterialResponse{Issue: &materialsv1.Issue{Quantity: amount("0.1", "L"), Cost: usd(380)},
		Product: &materialsv1.Product{OnHand: amount("0.846352946", "L")}, Recostings: f.shelf.recosted})
}

func (f *fake) ListIssues(context.Context, *materialsv1.ListIssuesRequest) (*materialsv1.ListIssuesResponse, error) {
	return &materialsv1.ListIssuesResponse{Issues: f.issues}, nil
}

func (f *fake) TakeBackIssue(_ context.Context, r *materialsv1.TakeBackIssueRequest) (*materialsv1.TakeBackIssueResponse, error) {
	return note(f, r, &materialsv1.TakeBackIssueResponse{Issue: f.issues[0], Product: &materialsv1.Product{OnHand: amount("0.9463529464", "L")}, Recostings: f.shelf.recosted})
}

func (f *fake) GetListing(_ context.Context, r *salesv1.GetListingRequest) (*salesv1.GetListingResponse, error) {
	for _, l := range f.listings {
		if l.Name == r.Name {
			return &salesv1.GetListingResponse{Listing: l}, nil
		}
	}
	return nil, fault.New(fault.NotFound, "LISTING_NOT_FOUND", "Sales has never heard of it.")
}

func (f *fake) ListListings(context.Context, *salesv1.ListListingsRequest) (*salesv1.ListListingsResponse, error) {
	return &salesv1.ListListingsResponse{Listings: f.listings}, nil
}

func (f *fake) SellPiece(_ context.Context, r *salesv1.SellPieceRequest) (*salesv1.SellPieceResponse, error) {
	return note(f, r, &salesv1.SellPieceResponse{Listing: &salesv1.Listing{Tag: 1, State: salesv1.Listing_STATE_SOLD}})
}

func (f *fake) RefundSale(_ context.Context, r *salesv1.RefundSaleRequest) (*salesv1.RefundSaleResponse, error) {
	tax := r.Tax
	if tax == nil {
		tax = usd(1_23) // as sales reckoned it
	}
	return note(f, r, &salesv1.RefundSaleResponse{Listing: f.listings[0], Tax: tax})
}

func (f *fake) ListPieceCosts(context.Context, *costingv1.ListPieceCostsRequest) (*costingv1.ListPieceCostsResponse, error) {
	return &costingv1.ListPieceCostsResponse{PieceCosts: f.costs}, nil
}

func (f *fake) GetPieceCost(_ context.Context, r *costingv1.GetPieceCostRequest) (*costingv1.GetPieceCostResponse, error) {
	for _, c := range f.costs {
		if c.Piece == r.Piece {
			return &costingv1.GetPieceCostResponse{PieceCost: c}, nil
		}
	}
	return nil, fault.New(fault.NotFound, "PIECE_NOT_FOUND", "The books know no such piece (yet).")
}

func (f *fake) Verify(context.Context, *costingv1.VerifyRequest) (*costingv1.VerifyResponse, error) {
	return f.proof, nil
}

func (f *fake) GetShopCost(context.Context, *costingv1.GetShopCostRequest) (*costingv1.GetShopCostResponse, error) {
	return f.books, nil
}

func (f *fake) GetProgress(context.Context, *costingv1.GetProgressRequest) (*costingv1.GetProgressResponse, error) {
	return f.progress, nil
}

func (f *fake) FinishStage(_ context.Context, r *workflowv1.FinishStageRequest) (*workflowv1.FinishStageResponse, error) {
	return note(f, r, &workflowv1.FinishStageResponse{Stage: f.stages[0]})
}
