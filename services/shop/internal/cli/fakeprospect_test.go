package cli

import (
	"context"

	"google.golang.org/grpc"

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
	return &salesv1.GetSellingTermsResponse{Terms: b.selling}, nil
}

func (b *buyer) SetSellingTerms(_ context.Context, r *salesv1.SetSellingTermsRequest) (*salesv1.SetSellingTermsResponse, error) {
	return note(b.f, r, &salesv1.SetSellingTermsResponse{Terms: r.Terms})
}
