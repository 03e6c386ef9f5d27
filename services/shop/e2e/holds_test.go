package e2e_test

import (
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
)

// keeps is what happens before sales: two offer for a piece, one is accepted with a deposit and comes for it; another holds a piece, keeps it
// longer and does not want it; a client gives two deposits, of which a part is given back and one kept.
func keeps(t *testing.T, shop *client.Shop) counter {
	t.Helper()
	c := counter{t, caller.With(t.Context(), caller.Caller{Actor: "Odile"}), shop}
	until := timestamppb.New(time.Now().Add(48 * time.Hour))
	given := func(units int64) *salesv1.DepositGiven {
		return &salesv1.DepositGiven{Amount: dollars(units), Method: salesv1.DepositMethod_DEPOSIT_METHOD_CARD}
	}
	piece := c.lists("Walnut hutch")
	one, err := shop.Offers.RecordOffer(c.ctx, &salesv1.RecordOfferRequest{RequestId: id.New().String(), Piece: piece, Buyer: "R. Okafor", Price: dollars(250), Channel: "phone", Note: "for the hall"})
	c.ok(err)
	_, err = shop.Offers.RecordOffer(c.ctx, &salesv1.RecordOfferRequest{RequestId: id.New().String(), Piece: piece, Buyer: "Lena Fisk", Price: dollars(240)})
	c.ok(err)
	_, err = shop.Offers.CounterOffer(c.ctx, &salesv1.CounterOfferRequest{RequestId: id.New().String(), Offer: one.Offer.Name, Price: dollars(280), UntilTime: until})
	c.ok(err)
	held, err := shop.Offers.AcceptOffer(c.ctx, &salesv1.AcceptOfferRequest{RequestId: id.New().String(), Offer: one.Offer.Name, UntilTime: until, Deposit: given(80), LapseRule: salesv1.LapseRule_LAPSE_RULE_KEPT})
	c.ok(err)
	_, err = shop.Sales.SellPiece(c.ctx, &salesv1.SellPieceRequest{RequestId: id.New().String(), Piece: piece, Hold: held.Hold.Name, Price: dollars(280), Tax: dollars(23)})
	c.ok(err)

	other, err := shop.Holds.HoldPiece(c.ctx, &salesv1.HoldPieceRequest{RequestId: id.New().String(), Piece: c.lists("Ash stand"), Buyer: "Lena Fisk", UntilTime: until, Deposit: given(30), LapseRule: salesv1.LapseRule_LAPSE_RULE_KEPT})
	c.ok(err)
	_, err = shop.Holds.ExtendHold(c.ctx, &salesv1.ExtendHoldRequest{RequestId: id.New().String(), Hold: other.Hold.Name, UntilTime: timestamppb.New(time.Now().Add(72 * time.Hour))})
	c.ok(err)
	_, err = shop.Holds.ReleaseHold(c.ctx, &salesv1.ReleaseHoldRequest{RequestId: id.New().String(), Hold: other.Hold.Name, Reason: "she found another"})
	c.ok(err)

	r, err := shop.Intake.TakeInPiece(c.ctx, &intakev1.TakeInPieceRequest{RequestId: id.New().String(), Title: "Cherry cradle", Kind: "cradle", Parts: []*intakev1.Part{{Label: "frame"}},
		Origin: &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "Bea Lund"}}})
	c.ok(err)
	for _, units := range []int64{120, 50} {
		_, err = shop.Deposits.TakeDeposit(c.ctx, &salesv1.TakeDepositRequest{RequestId: id.New().String(), Piece: r.Piece.Name, Deposit: given(units)})
		c.ok(err)
	}
	all, err := shop.Deposits.ListDeposits(c.ctx, &salesv1.ListDepositsRequest{Piece: r.Piece.Name})
	c.ok(err)
	_, err = shop.Deposits.ReturnDeposit(c.ctx, &salesv1.ReturnDepositRequest{RequestId: id.New().String(), Deposit: all.Deposits[1].Name, Amount: dollars(20), Reason: "less to do"})
	c.ok(err)
	_, err = shop.Deposits.KeepDeposit(c.ctx, &salesv1.KeepDepositRequest{RequestId: id.New().String(), Deposit: all.Deposits[0].Name, Reason: "the hours that were kept free for her"})
	c.ok(err)
	return c
}

// What the shop owes for deposits is what its list says is left of them, a deposit is earned with the sale and not before, and the books, which
// live took it in, prove it by the logs.
func TestHolds_TheBooksHaveWhatIsOwed(t *testing.T) {
	s := open(t, nil)
	before := time.Now().Add(-time.Minute)
	c := keeps(t, s.Shop)
	now := time.Now()
	eventually(t, "all in the books", func() bool { return c.on("deposits_kept", now) == -80_00 && c.on("revenue", now) == -280_00 })
	all, err := s.Shop.Deposits.ListDeposits(c.ctx, &salesv1.ListDepositsRequest{})
	c.ok(err)
	var left, given int64
	for _, d := range all.Deposits {
		left, given = left+d.Left.Units, given+d.Amount.Units
		if d.Used.Units+d.Returned.Units+d.Kept.Units+d.Left.Units != d.Amount.Units {
			t.Errorf("of %v it is not said what became of all", d)
		}
	}
	if owed := c.on("client_deposits", now); owed != -100*left || left != 100 || given != 280 {
		t.Errorf("owed are %d cents, of %d that were given %d are left; want 100 of 280", -owed, given, left)
	}
	// By hand: 80 + 30 + 120 + 50 came as deposits and 20 went back; with the sale 280 + 23 less a fee of 28 and the 80 that were given before; each of two pieces cost 40.
	if cash := c.on("cash_clearing", now) - c.on("cash_clearing", before); cash != 100*(80+30+120+50-20+280+23-28-80-2*40) {
		t.Errorf("cash is %d", cash)
	}
	verified(t, s.Shop)
}
