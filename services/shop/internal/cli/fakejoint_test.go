package cli

import (
	"context"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// joint is what a fake shop bought and sold together.
type joint struct {
	intakev1.UnimplementedLotServiceServer
	salesv1.UnimplementedSetServiceServer
	f    *fake
	lots []*intakev1.Lot
	sets []*salesv1.Set
}

func (j *joint) register(s grpc.ServiceRegistrar) {
	intakev1.RegisterLotServiceServer(s, j)
	salesv1.RegisterSetServiceServer(s, j)
}

func (f *fake) ScrapPiece(_ context.Context, r *intakev1.ScrapPieceRequest) (*intakev1.ScrapPieceResponse, error) {
	return note(f, r, &intakev1.ScrapPieceResponse{})
}

func (j *joint) TakeInLot(_ context.Context, r *intakev1.TakeInLotRequest) (*intakev1.TakeInLotResponse, error) {
	return note(j.f, r, &intakev1.TakeInLotResponse{Lot: j.lots[0], Pieces: make([]*intakev1.Piece, len(r.Items))})
}

func (j *joint) ReviseLotSplit(_ context.Context, r *intakev1.ReviseLotSplitRequest) (*intakev1.ReviseLotSplitResponse, error) {
	return note(j.f, r, &intakev1.ReviseLotSplitResponse{Lot: j.lots[0]})
}

func (j *joint) CorrectPurchase(_ context.Context, r *intakev1.CorrectPurchaseRequest) (*intakev1.CorrectPurchaseResponse, error) {
	if r.GetLot() != "" {
		return note(j.f, r, &intakev1.CorrectPurchaseResponse{Purchase: &intakev1.CorrectPurchaseResponse_Lot{Lot: j.lots[0]}})
	}
	p := &intakev1.Piece{TakenInTime: j.f.pieces[0].TakenInTime, Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{Price: r.Price}}}
	return note(j.f, r, &intakev1.CorrectPurchaseResponse{Purchase: &intakev1.CorrectPurchaseResponse_Piece{Piece: p}})
}

func (j *joint) GetLot(_ context.Context, r *intakev1.GetLotRequest) (*intakev1.GetLotResponse, error) {
	for _, l := range j.lots {
		if l.Name == r.Name {
			return &intakev1.GetLotResponse{Lot: l}, nil
		}
	}
	return nil, fault.New(fault.NotFound, "LOT_NOT_FOUND", "There is no such lot.")
}

func (j *joint) ListLots(context.Context, *intakev1.ListLotsRequest) (*intakev1.ListLotsResponse, error) {
	return &intakev1.ListLotsResponse{Lots: j.lots}, nil
}

func (j *joint) SellSet(_ context.Context, r *salesv1.SellSetRequest) (*salesv1.SellSetResponse, error) {
	return note(j.f, r, &salesv1.SellSetResponse{Set: j.sets[0]})
}

func (j *joint) GetSet(_ context.Context, r *salesv1.GetSetRequest) (*salesv1.GetSetResponse, error) {
	for _, s := range j.sets {
		if s.Name == r.Name {
			return &salesv1.GetSetResponse{Set: s}, nil
		}
	}
	return nil, fault.New(fault.NotFound, "SET_NOT_FOUND", "There is no such set.")
}
