package server_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"

	"google.golang.org/protobuf/types/known/timestamppb"
)

func take(piece string, units int64) *salesv1.TakeDepositRequest {
	return &salesv1.TakeDepositRequest{RequestId: svctest.NewID(), Piece: piece, Deposit: given(units), TakeTime: then}
}

func (b *bundle) takes(t *testing.T, piece string, units int64) *salesv1.Deposit {
	t.Helper()
	resp, err := b.TakeDeposit(svctest.Ctx(t), take(piece, units))
	if err != nil {
		t.Fatal(err)
	}
	return resp.Deposit
}

func (b *bundle) deposits(t *testing.T, piece string) []*salesv1.Deposit {
	t.Helper()
	resp, err := b.ListDeposits(t.Context(), &salesv1.ListDepositsRequest{Piece: piece})
	if err != nil {
		t.Fatal(err)
	}
	return resp.Deposits
}

// All that is held on a client's own piece goes into its invoice; what was given back of it does not.
func TestServer_Deposits_OfACommission(t *testing.T) {
	b := setup(t)
	piece := b.commission()
	first := b.takes(t, piece, 100)
	if first.From != "Ana" || first.Hold != "" || first.State != salesv1.Deposit_STATE_HELD {
		t.Errorf("TakeDeposit = %v, want it from the client", first)
	}
	e := b.lastEvent(t, piece, b.Last(t).RequestId, 1, then)
	differ(t, "event", &eventsv1.DepositTaken{DepositId: bareOf(first.Name), From: "Ana", Amount: usd(100), Method: "cash"}, e.GetDepositTaken())
	b.takes(t, piece, 60)
	back := &salesv1.ReturnDepositRequest{RequestId: svctest.NewID(), Deposit: first.Name, Amount: usd(30), Reason: "too much", ReturnTime: then}
	resp, err := b.ReturnDeposit(svctest.Ctx(t), back)
	if err != nil || resp.Deposit.State != salesv1.Deposit_STATE_HELD || resp.Deposit.Left.Units != 70 || resp.Deposit.Returned.Units != 30 {
		t.Fatalf("ReturnDeposit = %v, %v", resp, err)
	}
	differ(t, "event", &eventsv1.DepositSettled{DepositId: bareOf(first.Name), From: "Ana", Amount: usd(30), How: eventsv1.DepositSettled_HOW_RETURNED, Reason: "too much", Left: usd(70)},
		b.Last(t).GetDepositSettled())
	cheap := sell(piece)
	cheap.Price, cheap.Tax, cheap.Fee = usd(120), usd(9), usd(0)
	svctest.Refused(t, b.Service, b.SellPiece, cheap, fault.Precondition, "DEPOSIT_ABOVE_PRICE")
	sold := b.sell(t, piece)
	differ(t, "paid before", usd(130), sold.Sale.Deposit)
	for _, d := range b.deposits(t, piece) {
		if d.State != salesv1.Deposit_STATE_USED || d.Left.Units != 0 || d.Used.Units+d.Returned.Units != d.Amount.Units {
			t.Errorf("after the invoice %v", d)
		}
	}
	svctest.Refused(t, b.Service, b.ReturnDeposit, &salesv1.ReturnDepositRequest{RequestId: svctest.NewID(), Deposit: first.Name}, fault.Precondition, "DEPOSIT_ABOVE_HELD")
	svctest.Refused(t, b.Service, b.TakeDeposit, take(piece, 1), fault.Precondition, "PIECE_SOLD")
}

func TestServer_KeepDeposit(t *testing.T) {
	b := setup(t)
	piece := b.commission()
	d := b.takes(t, piece, 100)
	keep := func(units int64) *salesv1.KeepDepositRequest {
		r := &salesv1.KeepDepositRequest{RequestId: svctest.NewID(), Deposit: d.Name, Reason: "he stepped back, and so it was agreed", KeepTime: then}
		if units > 0 {
			r.Amount = usd(units)
		}
		return r
	}
	svctest.Refused(t, b.Service, b.KeepDeposit, keep(101), fault.Precondition, "DEPOSIT_ABOVE_HELD")
	nothing := keep(1)
	nothing.Amount = usd(0)
	svctest.Refused(t, b.Service, b.KeepDeposit, nothing, fault.Invalid, "DEPOSIT_ZERO")
	early := keep(1)
	early.KeepTime = before(then)
	svctest.Refused(t, b.Service, b.KeepDeposit, early, fault.Invalid, "RETURN_BEFORE_DEPOSIT")
	silent := keep(1)
	silent.Reason = ""
	svctest.Refused(t, b.Service, b.KeepDeposit, silent, fault.Invalid, "INVALID_FIELD")
	gone := keep(1)
	gone.Deposit = id.Name("deposits", id.New())
	svctest.Refused(t, b.Service, b.KeepDeposit, gone, fault.NotFound, "DEPOSIT_NOT_FOUND")
	for _, c := range []struct{ part, left int64 }{{25, 75}, {0, 0}} {
		resp, err := b.KeepDeposit(svctest.Ctx(t), keep(c.part))
		if err != nil || resp.Deposit.Left.Units != c.left || resp.Deposit.Kept.Units != 100-c.left {
			t.Fatalf("KeepDeposit(%d) = %v, %v", c.part, resp, err)
		}
	}
	if got := b.deposits(t, piece)[0]; got.State != salesv1.Deposit_STATE_KEPT {
		t.Errorf("kept, it is %v", got)
	}
	differ(t, "event", &eventsv1.DepositSettled{DepositId: bareOf(d.Name), From: "Ana", Amount: usd(75), How: eventsv1.DepositSettled_HOW_KEPT,
		Reason: "he stepped back, and so it was agreed", Left: usd(0)}, b.Last(t).GetDepositSettled())
}

// A deposit on a stock piece is its holder's, and brings the rule of its lapse where none was agreed.
func TestServer_TakeDeposit_OfAHold(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	b.list(t, piece)
	svctest.Refused(t, b.Service, b.TakeDeposit, take(piece, 10), fault.Precondition, "DEPOSIT_NEEDS_HOLD")
	r := hold(piece)
	r.Deposit, r.LapseRule = nil, 0
	held, err := b.HoldPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, b.Service, b.TakeDeposit, take(piece, 10), fault.Invalid, "LAPSE_RULE_UNSAID")
	with := take(piece, 200)
	with.LapseRule = salesv1.LapseRule_LAPSE_RULE_GIVEN_BACK
	d, err := b.TakeDeposit(svctest.Ctx(t), with)
	if err != nil || d.Deposit.From != "Ana Ruiz" || d.Deposit.Hold != held.Hold.Name {
		t.Fatalf("TakeDeposit = %v, %v", d, err)
	}
	svctest.Refused(t, b.Service, b.TakeDeposit, take(piece, 41), fault.Precondition, "DEPOSIT_ABOVE_PRICE")
	svctest.Refused(t, b.Service, b.TakeDeposit, take(piece, 0), fault.Invalid, "DEPOSIT_ZERO")
	svctest.Refused(t, b.Service, b.TakeDeposit, take(b.intake.take(intakev1.Piece_STATE_SCRAPPED), 1), fault.Precondition, "PIECE_SCRAPPED")
	early := take(piece, 1)
	early.TakeTime = before(then)
	svctest.Refused(t, b.Service, b.TakeDeposit, early, fault.Invalid, "TIME_BEFORE_INTAKE")
	svctest.Refused(t, b.Service, b.KeepDeposit, &salesv1.KeepDepositRequest{RequestId: svctest.NewID(), Deposit: d.Deposit.Name, Reason: "no"}, fault.Precondition, "HOLD_OPEN")
	listed, err := b.ListHolds(t.Context(), &salesv1.ListHoldsRequest{Piece: piece})
	if err != nil || listed.Holds[0].LapseRule != salesv1.LapseRule_LAPSE_RULE_GIVEN_BACK {
		t.Errorf("the hold is %v, %v", listed, err)
	}
	b.takes(t, piece, 40)
	if got := b.deposits(t, piece); len(got) != 2 {
		t.Errorf("its deposits are %v", got)
	}
}

// before is an hour earlier.
func before(at *timestamppb.Timestamp) *timestamppb.Timestamp {
	return timestamppb.New(at.AsTime().Add(-time.Hour))
}
