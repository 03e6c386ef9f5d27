package cli

import (
	"context"

	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// keptBack is what a fake shop keeps for whom, was given before, and is offered.
type keptBack struct {
	holds    []*salesv1.Hold
	deposits []*salesv1.Deposit
	offers   []*salesv1.Offer
}

func (m *market) HoldPiece(_ context.Context, r *salesv1.HoldPieceRequest) (*salesv1.HoldPieceResponse, error) {
	return note(m.f, r, &salesv1.HoldPieceResponse{Hold: m.holds[0]})
}

func (m *market) ExtendHold(_ context.Context, r *salesv1.ExtendHoldRequest) (*salesv1.ExtendHoldResponse, error) {
	return note(m.f, r, &salesv1.ExtendHoldResponse{Hold: m.holds[0]})
}

func (m *market) ReleaseHold(_ context.Context, r *salesv1.ReleaseHoldRequest) (*salesv1.ReleaseHoldResponse, error) {
	return note(m.f, r, &salesv1.ReleaseHoldResponse{Hold: m.holds[0]})
}

func (m *market) ListHolds(_ context.Context, r *salesv1.ListHoldsRequest) (*salesv1.ListHoldsResponse, error) {
	return asked(m.f, r, &salesv1.ListHoldsResponse{Holds: m.holds})
}

func (m *market) TakeDeposit(_ context.Context, r *salesv1.TakeDepositRequest) (*salesv1.TakeDepositResponse, error) {
	return note(m.f, r, &salesv1.TakeDepositResponse{Deposit: m.deposits[0]})
}

func (m *market) ReturnDeposit(_ context.Context, r *salesv1.ReturnDepositRequest) (*salesv1.ReturnDepositResponse, error) {
	return note(m.f, r, &salesv1.ReturnDepositResponse{Deposit: m.deposits[0]})
}

func (m *market) KeepDeposit(_ context.Context, r *salesv1.KeepDepositRequest) (*salesv1.KeepDepositResponse, error) {
	return note(m.f, r, &salesv1.KeepDepositResponse{Deposit: m.deposits[0]})
}

func (m *market) ListDeposits(_ context.Context, r *salesv1.ListDepositsRequest) (*salesv1.ListDepositsResponse, error) {
	return asked(m.f, r, &salesv1.ListDepositsResponse{Deposits: m.deposits})
}

func (m *market) RecordOffer(_ context.Context, r *salesv1.RecordOfferRequest) (*salesv1.RecordOfferResponse, error) {
	return note(m.f, r, &salesv1.RecordOfferResponse{Offer: m.offers[0]})
}

func (m *market) CounterOffer(_ context.Context, r *salesv1.CounterOfferRequest) (*salesv1.CounterOfferResponse, error) {
	return note(m.f, r, &salesv1.CounterOfferResponse{Offer: m.offers[0]})
}

func (m *market) AcceptOffer(_ context.Context, r *salesv1.AcceptOfferRequest) (*salesv1.AcceptOfferResponse, error) {
	return note(m.f, r, &salesv1.AcceptOfferResponse{Hold: m.holds[0]})
}

func (m *market) DeclineOffer(_ context.Context, r *salesv1.DeclineOfferRequest) (*salesv1.DeclineOfferResponse, error) {
	return note(m.f, r, &salesv1.DeclineOfferResponse{Offer: m.offers[0]})
}

func (m *market) WithdrawOffer(_ context.Context, r *salesv1.WithdrawOfferRequest) (*salesv1.WithdrawOfferResponse, error) {
	return note(m.f, r, &salesv1.WithdrawOfferResponse{Offer: m.offers[0]})
}

func (m *market) ListOffers(_ context.Context, r *salesv1.ListOffersRequest) (*salesv1.ListOffersResponse, error) {
	return asked(m.f, r, &salesv1.ListOffersResponse{Offers: m.offers})
}

// keeping keeps something for somebody.
func keeping(f *fake) {
	d := &salesv1.Deposit{Name: "deposits/7", Piece: "pieces/a", Tag: 1, State: salesv1.Deposit_STATE_HELD, Hold: "holds/5", From: "Ana", Amount: usd(40_00), Method: salesv1.DepositMethod_DEPOSIT_METHOD_CARD,
		TakeTime: middayPlus(0), Used: usd(0), Returned: usd(0), Kept: usd(0), Left: usd(40_00)}
	f.market.deposits = []*salesv1.Deposit{d}
	f.market.holds = []*salesv1.Hold{{Name: "holds/5", Piece: "pieces/a", Tag: 1, State: salesv1.Hold_STATE_OPEN, Buyer: "Ana", Price: usd(240_00), UntilTime: middayPlus(60),
		LapseRule: salesv1.LapseRule_LAPSE_RULE_KEPT, Deposits: []*salesv1.Deposit{d}}}
	f.market.offers = []*salesv1.Offer{{Name: "offers/8", Piece: "pieces/a", Tag: 1, State: salesv1.Offer_STATE_COUNTERED, Buyer: "Bert", Price: usd(200_00), CounterPrice: usd(230_00), UntilTime: middayPlus(30)}}
}
