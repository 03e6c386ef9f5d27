package cli

import (
	"context"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// counter is the part of the fake where clients order.
type counter struct {
	intakev1.UnimplementedClientServiceServer
	intakev1.UnimplementedCommissionServiceServer
	f           *fake
	clients     []*intakev1.Client
	commissions []*intakev1.CommissionOrder
	suggests    *intakev1.SuggestEstimateResponse
	terms       *intakev1.CommissionTerms
	letterhead  *intakev1.Letterhead
}

func newCounter(f *fake) *counter {
	line := &intakev1.EstimateLine{What: "strip and refinish", Price: usd(650_00), Of: &intakev1.EstimateLine_Labour_{Labour: &intakev1.EstimateLine_Labour{HoursLow: "8", HoursLikely: "10", HoursHigh: "14", Rate: usd(65_00)}}}
	varnish := &intakev1.EstimateLine{What: "varnish", Price: usd(135_00), Untaxed: true, Of: &intakev1.EstimateLine_Material_{Material: &intakev1.EstimateLine_Material{Cost: usd(100_00), MarkupPercent: "35"}}}
	total := func(minor int64) *intakev1.EstimateTotals { return &intakev1.EstimateTotals{Total: usd(minor)} }
	estimate := &intakev1.Estimate{Version: 2, DraftTime: middayPlus(0), Totals: &intakev1.EstimateTotals{Subtotal: usd(785_00), Discount: usd(5_00), Taxable: usd(645_00), Tax: usd(57_24), Total: usd(837_24)},
		TotalsLow: total(700_00), TotalsHigh: total(1100_00), Deposit: usd(418_62), CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT, CancelPercent: "20",
		Cautions: []*intakev1.EstimateCaution{{Id: "lead", Says: "It is presumed to hold lead."}}, TaxExemption: &intakev1.TaxExemption{Reason: "church", Number: "E-7"},
		Answer: &intakev1.ClientAnswer{By: "Ana Ruiz", How: intakev1.ClientAnswer_HOW_BY_PHONE, Time: middayPlus(60)},
		Draft:  &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{line, varnish}, TaxPercent: "8.875", ValidUntil: &date.Date{Year: 2026, Month: 4, Day: 1}, Promised: &date.Date{Year: 2026, Month: 5, Day: 1}, Notes: "matt"}}
	settled := &intakev1.Settlement{Rule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT, Minutes: 250, ReworkMinutes: 45, Rate: usd(65_00), Labour: usd(270_83), MaterialCost: usd(30_00), MarkupPercent: "35",
		Material: usd(40_50), TaxPercent: "8.875", Tax: usd(27_63), Approved: usd(854_67), PercentOfRest: "20", OfRest: usd(103_14), Owed: usd(442_10), DepositPaid: usd(427_34), ToPay: usd(14_76)}
	return &counter{f: f, letterhead: &intakev1.Letterhead{ShopName: "Reedmere Refinishing", Address: []string{"14 Mill Lane"}, Paper: intakev1.Letterhead_PAPER_A4, Etag: `"2"`},
		clients: []*intakev1.Client{
			{Name: "clients/a", Number: 1, Etag: `"1"`, Details: &intakev1.ClientDetails{DisplayName: "Ana Ruiz", Phone: "555 0101", Address: []string{"4 Mill Lane"}, TaxExemption: &intakev1.TaxExemption{Reason: "church", Number: "E-7"}}},
			{Name: "clients/b", Number: 2, Retired: true, Details: &intakev1.ClientDetails{DisplayName: "Bo"}}},
		commissions: []*intakev1.CommissionOrder{{Name: "commissions/c", Number: 3, ClientName: "Ana Ruiz", Client: "clients/a", Piece: "pieces/a", PieceTag: 1, Description: "a walnut table", State: intakev1.CommissionOrder_STATE_APPROVED,
			Etag: `"4"`, Estimates: []*intakev1.Estimate{estimate}, Invoice: &intakev1.CommissionOrder_Invoice{Price: usd(780_00), Tax: usd(57_24), Total: usd(837_24)}, Promised: &date.Date{Year: 2026, Month: 5, Day: 1}, Settlement: settled,
			ChangeOrders: []*intakev1.ChangeOrder{{Number: 1, State: intakev1.ChangeOrder_STATE_APPROVED, Reason: "worm in a leg", Lines: []*intakev1.EstimateLine{line}, Totals: total(700_00),
				Promised: &date.Date{Year: 2026, Month: 6, Day: 1}, Answer: &intakev1.ClientAnswer{By: "Ana Ruiz"}}}}},
		suggests: &intakev1.SuggestEstimateResponse{Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{line}, Promised: &date.Date{Year: 2026, Month: 5, Day: 3}},
			Basis:   &intakev1.SuggestEstimateResponse_Basis{FinishPlan: "pieces/a/finishPlans/2", Stages: 9, Unpriced: []string{"stain"}},
			Hazards: []*intakev1.Advice_Hazard{{Id: "lead", Says: "Test it first."}}},
		terms: &intakev1.CommissionTerms{Rate: usd(65_00), MarkupPercent: "35", TaxPercent: "8.875", DepositPercent: "50", ValidDays: 30, CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE, Etag: `"1"`}}
}

func (c *counter) register(s grpc.ServiceRegistrar) {
	intakev1.RegisterClientServiceServer(s, c)
	intakev1.RegisterCommissionServiceServer(s, c)
}

func (c *counter) AddClient(_ context.Context, r *intakev1.AddClientRequest) (*intakev1.AddClientResponse, error) {
	return note(c.f, r, &intakev1.AddClientResponse{Client: &intakev1.Client{Number: 3, Details: r.Details}})
}

func (c *counter) ChangeClient(_ context.Context, r *intakev1.ChangeClientRequest) (*intakev1.ChangeClientResponse, error) {
	return note(c.f, r, &intakev1.ChangeClientResponse{Client: &intakev1.Client{Number: 1, Details: r.Details}})
}

func (c *counter) RetireClient(_ context.Context, r *intakev1.RetireClientRequest) (*intakev1.RetireClientResponse, error) {
	return note(c.f, r, &intakev1.RetireClientResponse{Client: c.clients[0]})
}

func (c *counter) ListClients(_ context.Context, r *intakev1.ListClientsRequest) (*intakev1.ListClientsResponse, error) {
	if r.ShowRetired {
		return &intakev1.ListClientsResponse{Clients: c.clients}, nil
	}
	return &intakev1.ListClientsResponse{Clients: c.clients[:1]}, nil
}

func (c *counter) ListCommissions(_ context.Context, r *intakev1.ListCommissionsRequest) (*intakev1.ListCommissionsResponse, error) {
	return asked(c.f, r, &intakev1.ListCommissionsResponse{Commissions: c.commissions})
}

func (c *counter) GetCommission(_ context.Context, r *intakev1.GetCommissionRequest) (*intakev1.GetCommissionResponse, error) {
	for _, o := range c.commissions {
		if o.Name == r.Name {
			return &intakev1.GetCommissionResponse{Commission: proto.CloneOf(o)}, nil
		}
	}
	return nil, fault.New(fault.NotFound, "COMMISSION_NOT_FOUND", "There is no such commission; look it up in the list of commissions.")
}

func (c *counter) SuggestEstimate(_ context.Context, r *intakev1.SuggestEstimateRequest) (*intakev1.SuggestEstimateResponse, error) {
	return asked(c.f, r, c.suggests)
}

func (c *counter) DraftEstimate(_ context.Context, r *intakev1.DraftEstimateRequest) (*intakev1.DraftEstimateResponse, error) {
	return note(c.f, r, &intakev1.DraftEstimateResponse{Commission: c.commissions[0]})
}

func (c *counter) ReviseEstimate(_ context.Context, r *intakev1.ReviseEstimateRequest) (*intakev1.ReviseEstimateResponse, error) {
	return note(c.f, r, &intakev1.ReviseEstimateResponse{Commission: c.commissions[0]})
}

func (c *counter) BringPiece(_ context.Context, r *intakev1.BringPieceRequest) (*intakev1.BringPieceResponse, error) {
	return note(c.f, r, &intakev1.BringPieceResponse{Commission: c.commissions[0]})
}

func (c *counter) ApproveEstimate(_ context.Context, r *intakev1.ApproveEstimateRequest) (*intakev1.ApproveEstimateResponse, error) {
	return note(c.f, r, &intakev1.ApproveEstimateResponse{Commission: c.commissions[0], PromiseToMake: c.commissions[0].Promised})
}

func (c *counter) DeclineEstimate(_ context.Context, r *intakev1.DeclineEstimateRequest) (*intakev1.DeclineEstimateResponse, error) {
	return note(c.f, r, &intakev1.DeclineEstimateResponse{Commission: c.commissions[0]})
}

func (c *counter) AddChangeOrder(_ context.Context, r *intakev1.AddChangeOrderRequest) (*intakev1.AddChangeOrderResponse, error) {
	return note(c.f, r, &intakev1.AddChangeOrderResponse{Commission: c.commissions[0]})
}

func (c *counter) AnswerChangeOrder(_ context.Context, r *intakev1.AnswerChangeOrderRequest) (*intakev1.AnswerChangeOrderResponse, error) {
	return note(c.f, r, &intakev1.AnswerChangeOrderResponse{Commission: c.commissions[0]})
}

func (c *counter) CancelCommission(_ context.Context, r *intakev1.CancelCommissionRequest) (*intakev1.CancelCommissionResponse, error) {
	return note(c.f, r, &intakev1.CancelCommissionResponse{Commission: c.commissions[0]})
}

func (c *counter) GetCommissionTerms(context.Context, *intakev1.GetCommissionTermsRequest) (*intakev1.GetCommissionTermsResponse, error) {
	return &intakev1.GetCommissionTermsResponse{Terms: proto.CloneOf(c.terms)}, nil
}

func (c *counter) SetCommissionTerms(_ context.Context, r *intakev1.SetCommissionTermsRequest) (*intakev1.SetCommissionTermsResponse, error) {
	return note(c.f, r, &intakev1.SetCommissionTermsResponse{Terms: r.Terms})
}

func (c *counter) FinishCommission(_ context.Context, r *intakev1.FinishCommissionRequest) (*intakev1.FinishCommissionResponse, error) {
	o := proto.CloneOf(c.commissions[0])
	o.Finish = &intakev1.CommissionOrder_Finish{Reason: r.Reason, Invoiced: r.Reason == ""}
	return note(c.f, r, &intakev1.FinishCommissionResponse{Commission: o})
}

func (c *counter) PreviewCancellation(_ context.Context, r *intakev1.PreviewCancellationRequest) (*intakev1.PreviewCancellationResponse, error) {
	return asked(c.f, r, &intakev1.PreviewCancellationResponse{Settlement: c.commissions[0].Settlement})
}

func (c *counter) GetClient(context.Context, *intakev1.GetClientRequest) (*intakev1.GetClientResponse, error) {
	return &intakev1.GetClientResponse{Client: c.clients[0]}, nil
}

func (f *fake) GetLetterhead(context.Context, *intakev1.GetLetterheadRequest) (*intakev1.GetLetterheadResponse, error) {
	return &intakev1.GetLetterheadResponse{Letterhead: proto.CloneOf(f.counter.letterhead)}, nil
}

func (f *fake) SetLetterhead(_ context.Context, r *intakev1.SetLetterheadRequest) (*intakev1.SetLetterheadResponse, error) {
	return note(f, r, &intakev1.SetLetterheadResponse{Letterhead: r.Letterhead})
}
