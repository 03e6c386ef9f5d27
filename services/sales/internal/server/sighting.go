package server

import (
	"context"

	"google.golang.org/grpc"

	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/sales/internal/advice"
)

// Prospects is what sales asks about a piece that somebody saw before it was bought.
type Prospects interface {
	GetProspect(context.Context, *intakev1.GetProspectRequest, ...grpc.CallOption) (*intakev1.GetProspectResponse, error)
}

// sighting is what was believed of a piece when it was seen; nil: nobody saw it before, or said nothing. Intake is asked
// and not what was heard, for it knows that of pieces too whose purchase was told before events said it.
func (s *Server) sighting(ctx context.Context, piece id.ID) (*advice.Sighting, error) {
	r, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: id.Name("pieces", piece)})
	if err != nil || r.GetPiece().GetProspect() == "" {
		return nil, err
	}
	seen, err := s.Prospects.GetProspect(ctx, &intakev1.GetProspectRequest{Name: r.GetPiece().GetProspect()})
	if err != nil {
		return nil, err
	}
	said := seen.GetProspect().GetSighting()
	if said.GetSellsLow() == nil {
		return nil, nil // intake keeps both or none
	}
	out := &advice.Sighting{At: seen.GetProspect().GetSeenTime().AsTime()}
	if out.Low, err = s.Shop.Money("sells_low", said.SellsLow); err != nil {
		return nil, err
	}
	out.High, err = s.Shop.Money("sells_high", said.SellsHigh)
	return out, err
}
