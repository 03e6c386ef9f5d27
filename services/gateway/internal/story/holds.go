package story

import (
	"google.golang.org/protobuf/types/known/timestamppb"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/gateway/internal/words"
)

// What sales tells of a piece that is kept for somebody, of what was given before its sale, and of what was offered for it.

func pieceHeld(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	h := e.GetPieceHeld()
	if h.GetBeforeTime() != nil {
		return v.T("story.held.rather", until(v, h.GetUntilTime()), until(v, h.BeforeTime))
	}
	s := v.T("story.held", until(v, h.GetUntilTime()))
	if h.GetBuyer() != "" {
		s = v.T("story.held.for", h.Buyer, until(v, h.GetUntilTime()))
	}
	return s + amount(v, "story.at.price", h.GetPrice())
}

// until is the minute at which something ends.
func until(v *words.Voice, at *timestamppb.Timestamp) string {
	if at == nil {
		return v.T("none")
	}
	return v.DayOf(at.AsTime()) + " " + v.ClockOf(at.AsTime())
}

func holdEnded(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	h := e.GetHoldEnded()
	if h.GetHow() != eventsv1.HoldEnded_HOW_LAPSED {
		return v.T("story.hold.released") + because(h.GetReason())
	}
	s := v.T("story.hold.lapsed")
	if h.GetToReturn() != nil {
		s += v.T("story.hold.owed", v.Money(h.ToReturn))
	}
	return s
}

func depositTaken(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	d := e.GetDepositTaken()
	if d.GetAmount() == nil {
		return v.T("story.deposit")
	}
	return v.T("story.deposit.of", v.Money(d.Amount)) + from(v, d.GetFrom())
}

// from says who gave something, where the reader is told.
func from(v *words.Voice, name string) string {
	if name == "" {
		return ""
	}
	return v.T("story.from", name)
}

func depositSettled(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	d, key := e.GetDepositSettled(), "story.deposit.back"
	if d.GetHow() == eventsv1.DepositSettled_HOW_KEPT {
		key = "story.deposit.kept"
	}
	if d.GetAmount() == nil {
		return v.T(key) + because(d.GetReason())
	}
	return v.T(key+".of", v.Money(d.Amount)) + because(d.GetReason())
}

func offerMade(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	o, key := e.GetOfferMade(), "story.offer"
	if o.GetCounter() {
		key = "story.offer.counter"
	}
	if o.GetPrice() == nil || o.GetBuyer() == "" { // the reader is told both or neither
		return v.T(key)
	}
	return v.T(key+".of", o.Buyer, v.Money(o.Price)) + because(o.GetNote())
}

var offerEnds = map[eventsv1.OfferEnded_How]string{
	eventsv1.OfferEnded_HOW_UNSPECIFIED: "story.offer.over", eventsv1.OfferEnded_HOW_ACCEPTED: "story.offer.accepted", eventsv1.OfferEnded_HOW_DECLINED: "story.offer.declined",
	eventsv1.OfferEnded_HOW_WITHDRAWN: "story.offer.withdrawn", eventsv1.OfferEnded_HOW_PASSED_OVER: "story.offer.passed",
}

func offerEnded(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	o := e.GetOfferEnded()
	return v.T(offerEnds[o.GetHow()]) + from(v, o.GetBuyer()) + because(o.GetReason())
}
