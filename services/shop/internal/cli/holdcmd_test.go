package cli

import (
	"testing"

	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func TestHold(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	keeping(f)
	f.gives(t, line("hold add 1 Ana --until '2026-03-07 12:00' --price 240 --deposit 40 --paid-by card --lapse kept"), &salesv1.HoldPieceRequest{Piece: "pieces/a", Buyer: "Ana", Price: usd(240_00),
		UntilTime: stamp(t, "2026-03-07T18:00:00Z"), Deposit: &salesv1.DepositGiven{Amount: usd(40_00), Method: salesv1.DepositMethod_DEPOSIT_METHOD_CARD}, LapseRule: salesv1.LapseRule_LAPSE_RULE_KEPT})
	f.gives(t, line("hold add 1 Ana --until 3d --until 2026-03-07T18:00:00Z"), &salesv1.HoldPieceRequest{Piece: "pieces/a", Buyer: "Ana", UntilTime: stamp(t, "2026-03-07T18:00:00Z")}) // as it is given again
	f.says(t, line("hold add 1 Ana --until '2026-03-07 12:00'"), "1 Ana 2026-03-02", "240.00 40.00 held, else kept open 5\n")
	f.gives(t, line("hold extend 1 --until '2026-03-08 12:00'"), &salesv1.ExtendHoldRequest{Hold: "holds/5", UntilTime: stamp(t, "2026-03-08T17:00:00Z")})
	f.gives(t, line("hold release 1 --reason 'she moved' --deposit given-back"), &salesv1.ReleaseHoldRequest{Hold: "holds/5", Reason: "she moved", Deposit: salesv1.LapseRule_LAPSE_RULE_GIVEN_BACK})
	f.gives(t, line("hold release 1 --which 9 --reason x"), &salesv1.ReleaseHoldRequest{Hold: "holds/9", Reason: "x"})
	f.asksFor(t, line("hold list 1 --state lapsed"), &salesv1.ListHoldsRequest{Piece: "pieces/a", State: salesv1.Hold_STATE_LAPSED})
	f.gives(t, line("sale sell 1 240 --held"), &salesv1.SellPieceRequest{Piece: "pieces/a", Price: usd(240_00), Hold: "holds/5"})
	f.gives(t, line("sale sell 1 240 --hold 9"), &salesv1.SellPieceRequest{Piece: "pieces/a", Price: usd(240_00), Hold: "holds/9"})
	f.refuses(t, line("hold add 1 Ana --until '2026-03-07 12:00' --deposit 4 --lapse lost"), `--lapse: "lost" is none of: given-back, kept`)
	f.refuses(t, line("hold add 1 Ana --until '2026-03-07 12:00' --deposit 4 --paid-by shells"), `--paid-by: "shells" is none of: cash, card, transfer, check, other`)
	f.refuses(t, line("hold list --state gone"), `--state: "gone" is none of: open, released, lapsed, sold`)
	f.market.holds = append(f.market.holds, f.market.holds[0])
	f.refuses(t, line("hold release 1 --reason x"), "piece 1 has 2 holds that are open; say which with --which ID: `shop hold list 1` shows them")
	f.market.holds = nil
	f.refuses(t, line("hold release 1 --reason x"), "piece 1 has no hold that is open; `shop hold list 1` shows all")
	f.refuses(t, line("sale sell 1 240 --held"), "piece 1 is held for nobody")
}

func TestDeposit(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	keeping(f)
	f.gives(t, line("deposit take 1 40 --paid-by check --from Ana --at '2026-03-02 08:00'"), &salesv1.TakeDepositRequest{Piece: "pieces/a", From: "Ana", TakeTime: stamp(t, "2026-03-02T14:00:00Z"),
		Deposit: &salesv1.DepositGiven{Amount: usd(40_00), Method: salesv1.DepositMethod_DEPOSIT_METHOD_CHECK}})
	f.says(t, line("deposit take 1 40"), "1 Ana 40.00 card 2026-03-02", "0.00 0.00 0.00 40.00 held 7\n")
	f.gives(t, line("deposit return 1 --amount 15 --reason 'too much'"), &salesv1.ReturnDepositRequest{Deposit: "deposits/7", Amount: usd(15_00), Reason: "too much"})
	f.gives(t, line("deposit keep 1 --reason 'he stepped back'"), &salesv1.KeepDepositRequest{Deposit: "deposits/7", Reason: "he stepped back"})
	f.asksFor(t, line("deposit list --state to-return"), &salesv1.ListDepositsRequest{State: salesv1.Deposit_STATE_TO_RETURN})
	f.market.deposits[0].State = salesv1.Deposit_STATE_USED
	f.refuses(t, line("deposit return 1"), "piece 1 has no deposit that is open")
}

func TestOffer(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	keeping(f)
	f.gives(t, line("offer note 1 Bert 200 --via phone --until '2026-03-07 12:00' --note 'on Saturday'"), &salesv1.RecordOfferRequest{Piece: "pieces/a", Buyer: "Bert", Price: usd(200_00), Channel: "phone",
		UntilTime: stamp(t, "2026-03-07T18:00:00Z"), Note: "on Saturday"})
	f.says(t, line("offer note 1 Bert 200"), "1 Bert 200.00 230.00 2026-03-02", "countered 8\n")
	f.gives(t, line("offer counter 1 230"), &salesv1.CounterOfferRequest{Offer: "offers/8", Price: usd(230_00)})
	f.gives(t, line("offer accept 1 --until '2026-03-07 12:00' --deposit 30 --lapse given-back"), &salesv1.AcceptOfferRequest{Offer: "offers/8", UntilTime: stamp(t, "2026-03-07T18:00:00Z"),
		Deposit: &salesv1.DepositGiven{Amount: usd(30_00), Method: salesv1.DepositMethod_DEPOSIT_METHOD_CASH}, LapseRule: salesv1.LapseRule_LAPSE_RULE_GIVEN_BACK})
	f.gives(t, line("offer decline 1 --reason 'too little'"), &salesv1.DeclineOfferRequest{Offer: "offers/8", Reason: "too little"})
	f.gives(t, line("offer withdraw 1 --which 9"), &salesv1.WithdrawOfferRequest{Offer: "offers/9"})
	f.asksFor(t, line("offer list 1 --state passed-over"), &salesv1.ListOffersRequest{Piece: "pieces/a", State: salesv1.Offer_STATE_PASSED_OVER})
	f.market.offers[0].State = salesv1.Offer_STATE_LAPSED
	f.refuses(t, line("offer accept 1 --until '2026-03-07 12:00'"), "piece 1 has no offer that is open")
}
