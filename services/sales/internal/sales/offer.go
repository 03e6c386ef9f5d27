package sales

import (
	"cmp"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// OfferState is what became of an offer.
type OfferState string

// The states of an offer. Lapsed is not written down: it follows from the time.
const (
	OfferOpen       OfferState = "open"
	OfferCountered  OfferState = "countered" // the shop named its price
	OfferLapsed     OfferState = "lapsed"
	OfferAccepted   OfferState = "accepted"
	OfferDeclined   OfferState = "declined"
	OfferWithdrawn  OfferState = "withdrawn"   // by the buyer
	OfferPassedOver OfferState = "passed_over" // the piece was held or sold without it, be it to somebody else, or is not for sale any more
)

// Offer is what a buyer offers for a listed piece.
type Offer struct {
	ID        id.ID
	Piece     id.ID
	Tag       int32
	State     OfferState
	Buyer     string
	Price     money.Amount // without tax
	Counter   money.Amount // the shop's; zero: it named none
	Channel   string       // how it came
	OfferedAt time.Time
	Until     time.Time // of what was said last; zero: until somebody answers
	Note      string
	EndedAt   time.Time
	Reason    string
	Hold      id.ID // of one that was accepted
}

// At is its state at a moment.
func (o Offer) At(now time.Time) OfferState {
	if (o.State == OfferOpen || o.State == OfferCountered) && !o.Until.IsZero() && !o.Until.After(now) {
		return OfferLapsed
	}
	return o.State
}

// Said is the price that was said last.
func (o Offer) Said() money.Amount { return cmp.Or(o.Counter, o.Price) }

// Record notes what a buyer offers; a piece that is held may be offered for too, should the hold come to nothing. Faults: PRICE_ZERO,
// OFFER_UNTIL_PAST, PIECE_SCRAPPED, PIECE_SOLD, PIECE_IS_COMMISSION, PIECE_NOT_LISTED.
func (l *Listing) Record(p Piece, o Offer, now time.Time) (Offer, error) {
	if err := o.says(o.Price, now); err != nil {
		return o, err
	}
	if err := l.Offerable(p); err != nil {
		return o, err
	}
	if err := l.offered(); err != nil {
		return o, err
	}
	o.State, o.Piece, o.Tag = OfferOpen, l.Piece, l.Tag
	l.Version++
	return o, nil
}

// CounterOffer names the shop's price, until a time or, if it is zero, an answer. An offer that lapsed stands again with it. Faults:
// PRICE_ZERO, OFFER_UNTIL_PAST, COUNTER_NOT_ABOVE_OFFER, OFFER_NOT_OPEN, PIECE_SOLD, PIECE_NOT_LISTED.
func (l *Listing) CounterOffer(o *Offer, price money.Amount, until, now time.Time) error {
	to := *o
	to.Counter, to.Until = price, until
	if err := to.says(price, now); err != nil {
		return err
	}
	if err := o.open(); err != nil {
		return err
	}
	if err := l.offered(); err != nil {
		return err
	}
	if price <= o.Price {
		return fault.New(fault.Precondition, "COUNTER_NOT_ABOVE_OFFER", "The buyer offers no less than this already; accept the offer instead.").At("price")
	}
	to.State = OfferCountered
	*o = to
	l.Version++
	return nil
}

func (o Offer) says(price money.Amount, now time.Time) error {
	switch {
	case price == 0:
		return fault.New(fault.Invalid, "PRICE_ZERO", "An offer is above zero.").At("price")
	case !o.Until.IsZero() && !o.Until.After(now):
		return fault.New(fault.Invalid, "OFFER_UNTIL_PAST", "An offer holds until a time in the future; leave it away if none was said.").At("until_time")
	}
	return nil
}

// Accept ends the offer by a hold at the price that was said last. Faults: OFFER_NOT_OPEN, OFFER_LAPSED; those of Keep.
func (l *Listing) Accept(p Piece, o *Offer, h Hold) error {
	if err := o.open(); err != nil {
		return err
	}
	if o.At(h.HeldAt) == OfferLapsed {
		return fault.New(fault.Precondition, "OFFER_LAPSED", "The time of that offer is over; record it anew if the buyer still wants the piece.").At("offer")
	}
	h.Buyer, h.Price = o.Buyer, o.Said()
	if err := l.Keep(p, h); err != nil {
		return err
	}
	o.State, o.Hold, o.EndedAt = OfferAccepted, h.ID, h.HeldAt
	return nil
}

// EndOffer ends an offer that comes to nothing. Fault: OFFER_NOT_OPEN.
func (l *Listing) EndOffer(o *Offer, how OfferState, reason string, at time.Time) error {
	if err := o.open(); err != nil {
		return err
	}
	o.State, o.Reason, o.EndedAt = how, reason, at
	l.Version++
	return nil
}

func (o *Offer) open() error {
	if o.State == OfferOpen || o.State == OfferCountered {
		return nil
	}
	return fault.New(fault.Precondition, "OFFER_NOT_OPEN", "That offer for piece %d is over: it was %s.", o.Tag, offerOver[o.State]).At("offer")
}

var offerOver = map[OfferState]string{OfferAccepted: "accepted", OfferDeclined: "declined", OfferWithdrawn: "withdrawn by the buyer",
	OfferPassedOver: "passed over, for the piece was held or sold without it, or is not for sale any more"}

// ErrNoOffer is the fault about an offer that nobody made.
var ErrNoOffer = fault.New(fault.NotFound, "BUYER_OFFER_NOT_FOUND", "There is no such offer; shop offer list has them.").At("offer")
