package server

import (
	"time"

	moneypb "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
)

var rules = map[salesv1.LapseRule]sales.LapseRule{
	salesv1.LapseRule_LAPSE_RULE_GIVEN_BACK: sales.GivenBack, salesv1.LapseRule_LAPSE_RULE_KEPT: sales.Kept,
}

var depositMethods = map[salesv1.DepositMethod]string{
	salesv1.DepositMethod_DEPOSIT_METHOD_CASH: "cash", salesv1.DepositMethod_DEPOSIT_METHOD_CARD: "card", salesv1.DepositMethod_DEPOSIT_METHOD_TRANSFER: "transfer",
	salesv1.DepositMethod_DEPOSIT_METHOD_CHECK: "check", salesv1.DepositMethod_DEPOSIT_METHOD_OTHER: "other",
}

var holdStates = map[sales.HoldState]salesv1.Hold_State{
	sales.HoldOpen: salesv1.Hold_STATE_OPEN, sales.HoldReleased: salesv1.Hold_STATE_RELEASED, sales.HoldLapsed: salesv1.Hold_STATE_LAPSED, sales.HoldSold: salesv1.Hold_STATE_SOLD,
}

var depositStates = map[sales.DepositState]salesv1.Deposit_State{
	sales.DepositHeld: salesv1.Deposit_STATE_HELD, sales.DepositToReturn: salesv1.Deposit_STATE_TO_RETURN, sales.DepositUsed: salesv1.Deposit_STATE_USED,
	sales.DepositReturned: salesv1.Deposit_STATE_RETURNED, sales.DepositKept: salesv1.Deposit_STATE_KEPT,
}

var offerStates = map[sales.OfferState]salesv1.Offer_State{
	sales.OfferOpen: salesv1.Offer_STATE_OPEN, sales.OfferCountered: salesv1.Offer_STATE_COUNTERED, sales.OfferLapsed: salesv1.Offer_STATE_LAPSED,
	sales.OfferAccepted: salesv1.Offer_STATE_ACCEPTED, sales.OfferDeclined: salesv1.Offer_STATE_DECLINED, sales.OfferWithdrawn: salesv1.Offer_STATE_WITHDRAWN,
	sales.OfferPassedOver: salesv1.Offer_STATE_PASSED_OVER,
}

var offerHows = map[sales.OfferState]eventsv1.OfferEnded_How{
	sales.OfferAccepted: eventsv1.OfferEnded_HOW_ACCEPTED, sales.OfferDeclined: eventsv1.OfferEnded_HOW_DECLINED,
	sales.OfferWithdrawn: eventsv1.OfferEnded_HOW_WITHDRAWN, sales.OfferPassedOver: eventsv1.OfferEnded_HOW_PASSED_OVER,
}

// keyOf is what a map gives a value for; zero: nothing.
func keyOf[K, V comparable](of map[K]V, value V) (key K) {
	for k, v := range of {
		if v == value {
			return k
		}
	}
	return key
}

// stateOf is how the store writes a state of the contract; empty: any.
func stateOf[K ~string, V comparable](of map[K]V, value V) string { return string(keyOf(of, value)) }

// holdNamed reads the name of a hold; empty is none. Fault: INVALID_NAME.
func holdNamed(field, name string) (id.ID, error) {
	if name == "" {
		return id.Nil, nil
	}
	return id.One(field, name, "holds")
}

// orNone is money, absent where it is zero.
func (s *Server) orNone(a money.Amount) *moneypb.Money {
	if a == 0 {
		return nil
	}
	return s.Shop.ToMoney(a)
}

// someOf reads a part of a deposit; absent is zero, which is all of it. Faults: those of money; DEPOSIT_ZERO.
func (s *Server) someOf(field string, m *moneypb.Money) (money.Amount, error) {
	a, err := s.Shop.Money(field, m)
	if err == nil && m != nil && a == 0 {
		err = fault.New(fault.Invalid, "DEPOSIT_ZERO", "That would be nothing of the deposit; say how much, or leave the amount away for all that is left.").At(field)
	}
	return a, err
}

func (s *Server) encodeHold(h sales.Hold, deposits []sales.Deposit) *salesv1.Hold {
	out := &salesv1.Hold{Name: id.Name("holds", h.ID), Piece: id.Name("pieces", h.Piece), Tag: h.Tag, State: holdStates[h.State], Buyer: h.Buyer, Price: s.orNone(h.Price),
		HoldTime: wire.ToInstant(h.HeldAt), UntilTime: wire.ToInstant(h.Until), LapseRule: keyOf(rules, h.Rule), EndTime: wire.ToInstant(h.EndedAt), Reason: h.Reason}
	for _, d := range deposits {
		out.Deposits = append(out.Deposits, s.encodeDeposit(d))
	}
	return out
}

func (s *Server) encodeDeposit(d sales.Deposit) *salesv1.Deposit {
	out := &salesv1.Deposit{Name: id.Name("deposits", d.ID), Piece: id.Name("pieces", d.Piece), Tag: d.Tag, State: depositStates[d.State], From: d.From,
		Amount: s.Shop.ToMoney(d.Amount), Method: keyOf(depositMethods, d.Method), TakeTime: wire.ToInstant(d.TakenAt),
		Used: s.Shop.ToMoney(d.Used), Returned: s.Shop.ToMoney(d.Returned), Kept: s.Shop.ToMoney(d.Kept), Left: s.Shop.ToMoney(d.Left())}
	if d.Hold != id.Nil {
		out.Hold = id.Name("holds", d.Hold)
	}
	return out
}

func (s *Server) encodeOffer(o sales.Offer, now time.Time) *salesv1.Offer {
	out := &salesv1.Offer{Name: id.Name("offers", o.ID), Piece: id.Name("pieces", o.Piece), Tag: o.Tag, State: offerStates[o.At(now)], Buyer: o.Buyer,
		Price: s.Shop.ToMoney(o.Price), CounterPrice: s.orNone(o.Counter), Channel: o.Channel, OfferTime: wire.ToInstant(o.OfferedAt),
		UntilTime: wire.ToInstant(o.Until), Note: o.Note, EndTime: wire.ToInstant(o.EndedAt), Reason: o.Reason}
	if o.Hold != id.Nil {
		out.Hold = id.Name("holds", o.Hold)
	}
	return out
}
