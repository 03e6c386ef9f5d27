package cli

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// buyer is the part of the fake that advises on buying and selling.
type buyer struct {
	intakev1.UnimplementedProspectServiceServer
	salesv1.UnimplementedPriceAdviceServiceServer
	f         *fake
	advice    *intakev1.Advice
	prospects []*intakev1.Prospect
	buying    *intakev1.BuyingTerms
	prices    *salesv1.AdvisePriceResponse
	selling   *salesv1.SellingTerms
	meanwhile func() // happens after the selling terms were looked at
}

func (b *buyer) register(s grpc.ServiceRegistrar) {
	intakev1.RegisterProspectServiceServer(s, b)
	salesv1.RegisterPriceAdviceServiceServer(s, b)
}

func (b *buyer) AdvisePurchase(_ context.Context, r *intakev1.AdvisePurchaseRequest) (*intakev1.AdvisePurchaseResponse, error) {
	return asked(b.f, r, &intakev1.AdvisePurchaseResponse{Advice: b.advice})
}

func (b *buyer) AddProspect(_ context.Context, r *intakev1.AddProspectRequest) (*intakev1.AddProspectResponse, error) {
	return note(b.f, r, &intakev1.AddProspectResponse{Prospect: &intakev1.Prospect{Name: "prospects/p", Number: 8, Sighting: r.Sighting, Advice: b.advice, State: intakev1.Prospect_STATE_OPEN}})
}

func (b *buyer) BuyProspect(_ context.Context, r *intakev1.BuyProspectRequest) (*intakev1.BuyProspectResponse, error) {
	return note(b.f, r, &intakev1.BuyProspectResponse{Prospect: b.prospects[0], Piece: &intakev1.Piece{Tag: 14, Title: "Pine dresser"}})
}

func (b *buyer) DeclineProspect(_ context.Context, r *intakev1.DeclineProspectRequest) (*intakev1.DeclineProspectResponse, error) {
	return note(b.f, r, &intakev1.DeclineProspectResponse{Prospect: b.prospects[0]})
}

// ListProspects gives one a page.
func (b *buyer) ListProspects(_ context.Context, r *intakev1.ListProspectsRequest) (*intakev1.ListProspectsResponse, error) {
	var fit []*intakev1.Prospect
	for _, p := range b.prospects {
		if r.State == intakev1.Prospect_STATE_UNSPECIFIED || p.State == r.State {
			fit = append(fit, p)
		}
	}
	at := len(r.PageToken)
	if at >= len(fit) {
		return asked(b.f, r, &intakev1.ListProspectsResponse{})
	}
	return asked(b.f, r, &intakev1.ListProspectsResponse{Prospects: fit[at : at+1], NextPageToken: r.PageToken + "x"})
}

func (b *buyer) GetProspect(_ context.Context, r *intakev1.GetProspectRequest) (*intakev1.GetProspectResponse, error) {
	for _, p := range b.prospects {
		if p.Name == r.Name {
			return asked(b.f, r, &intakev1.GetProspectResponse{Prospect: p})
		}
	}
	return nil, fault.New(fault.Denied, "NOT_ALLOWED", "That is for the owner.")
}

func (b *buyer) GetBuyingTerms(context.Context, *intakev1.GetBuyingTermsRequest) (*intakev1.GetBuyingTermsResponse, error) {
	return &intakev1.GetBuyingTermsResponse{Terms: b.buying}, nil
}

func (b *buyer) SetBuyingTerms(_ context.Context, r *intakev1.SetBuyingTermsRequest) (*intakev1.SetBuyingTermsResponse, error) {
	return note(b.f, r, &intakev1.SetBuyingTermsResponse{Terms: r.Terms})
}

func (b *buyer) AdvisePrice(_ context.Context, r *salesv1.AdvisePriceRequest) (*salesv1.AdvisePriceResponse, error) {
	return asked(b.f, r, b.prices)
}

func (b *buyer) GetSellingTerms(context.Context, *salesv1.GetSellingTermsRequest) (*salesv1.GetSellingTermsResponse, error) {
	r := &salesv1.GetSellingTermsResponse{Terms: proto.CloneOf(b.selling), InForce: b.inForce()}
	if b.meanwhile != nil {
		b.meanwhile()
	}
	return r, nil
}

// inForce are the terms with what is usual where nobody said.
func (b *buyer) inForce() *salesv1.SellingTerms {
	all := &salesv1.SellingTerms{HoldingSmall: usd(0), HoldingMedium: usd(0), HoldingLarge: usd(0), DaysBetweenMarkdowns: proto.Int32(14), MostMarkdowns: proto.Int32(3),
		HorizonDays: proto.Int32(180), SalvagePercent: proto.Float64(40)}
	proto.Merge(all, b.selling)
	return all
}

func (b *buyer) SetSellingTerms(_ context.Context, r *salesv1.SetSellingTermsRequest) (*salesv1.SetSellingTermsResponse, error) {
	if r.Etag != b.selling.Etag {
		return nil, fault.New(fault.Conflict, "ETAG_MISMATCH", "Somebody changed it meanwhile; look again.")
	}
	return note(b.f, r, &salesv1.SetSellingTermsResponse{Terms: r.Terms, InForce: b.inForce()})
}
