package sales

import (
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Amounts are the sums of a sale, or of what went back of one.
type Amounts struct {
	Price money.Amount // without tax
	Tax   money.Amount // for the tax office
	Fee   money.Amount // what the channel keeps, or gives back
}

// Sale is one time that a piece was sold.
type Sale struct {
	ID      id.ID
	Channel string
	Buyer   string
	Amounts
	Taxed
	PayTerms
	CashRounding   money.Amount // what more came in with the sale than was due, for cash was rounded; below zero: what less
	Payments       []Payment    // those that were noted by themselves, the earliest first
	LoweredDue     money.Amount // of what went back, what lowered what was due
	FeeFromChannel bool         // nobody said the fee: it follows from what the channel keeps
	Refunded       Amounts      // sums of what went back
	PieceReturned  bool
	SoldAt         time.Time
	Of             SetShare     // zero: it was sold by itself
	Hold           id.ID        // by which the piece was kept for its buyer; not kept with the sale
	Deposit        money.Amount // what of price and tax was paid before
}

// Refund is one time that something of a sale went back.
type Refund struct {
	ID   id.ID
	Sale id.ID
	Amounts
	PieceReturned bool
	Reason        string
	RefundedAt    time.Time
	LoweredDue    money.Amount // of price and tax, what lowered what was due; the rest went out
}

// ErrNoSale is the fault about a sale that was never made.
var ErrNoSale = fault.New(fault.NotFound, "SALE_NOT_FOUND", "There is no such sale; look it up in the piece's listing.").At("sale")

// Left is what has not gone back.
func (s Sale) Left() Amounts {
	return Amounts{Price: s.Price - s.Refunded.Price, Tax: s.Tax - s.Refunded.Tax, Fee: s.Fee - s.Refunded.Fee}
}

// TaxBack is what of the tax goes back with a part of the price where nobody says it: of a sale that was taxed at a place, what the
// price still there bore before less what it bears after, so that the last of the price takes the last of the tax with it. Of
// another sale it is nothing.
func (l *Listing) TaxBack(r Refund) money.Amount {
	s, err := l.sale(r.Sale)
	if err != nil || s.Place == "" || r.Price > s.Left().Price {
		return 0 // and more than is left of the price is refused
	}
	left := s.Left()
	return min(s.taxOn(left.Price)-s.taxOn(left.Price-r.Price), left.Tax)
}

// taxOn is the share of the sale's tax that a part of its price bears, a half of the smallest unit to the even one. It is a share and
// no rate, for a piece of a set has a share of the tax of all.
func (s Sale) taxOn(part money.Amount) money.Amount {
	return money.MulDiv(s.Tax, int64(part), int64(s.Price))
}

// Refund gives back a part or all of a sale and returns the sale as it then is. When the
// piece comes back it can be listed and sold again; it comes back once for each sale, but
// money still can go back of what is left of one, whatever has become of the piece.
// Faults: REFUND_OF_NOTHING, SALE_NOT_FOUND, REFUND_BEFORE_SALE, SALE_ALREADY_RETURNED,
// REFUND_ABOVE_SALE, which names what is left in currency.
func (l *Listing) Refund(r Refund, currency money.Currency) (Sale, error) {
	if r.Amounts == (Amounts{}) && !r.PieceReturned {
		return Sale{}, fault.New(fault.Invalid, "REFUND_OF_NOTHING",
			"The refund gives nothing back; say how much of the price, tax or fee, or that the piece came back.").At("price")
	}
	n := slices.IndexFunc(l.Sales, func(s Sale) bool { return s.ID == r.Sale })
	if n < 0 {
		return Sale{}, ErrNoSale
	}
	if err := l.Sales[n].refund(r, currency); err != nil {
		return Sale{}, err
	}
	if r.PieceReturned {
		l.end(NotListed)
		l.Channel, l.AskingPrice = "", 0
	}
	l.Version++
	return l.Sales[n], nil
}

func (s *Sale) refund(r Refund, currency money.Currency) error {
	// People write times to the minute, and the sale's has its seconds.
	if r.RefundedAt.Before(s.SoldAt.Truncate(time.Minute)) {
		return fault.New(fault.Invalid, "REFUND_BEFORE_SALE", "The refund is dated before the sale; check its time.").At("refund_time")
	}
	if r.PieceReturned && s.PieceReturned {
		return fault.New(fault.Precondition, "SALE_ALREADY_RETURNED",
			"The piece of this sale has already come back; refund the money alone.").At("piece_returned")
	}
	if err := s.covers(r.Amounts, currency); err != nil {
		return err
	}
	s.LoweredDue += s.lowers(r.Amounts)
	s.Refunded.Price += r.Price
	s.Refunded.Tax += r.Tax
	s.Refunded.Fee += r.Fee
	s.PieceReturned = s.PieceReturned || r.PieceReturned
	return nil
}

// covers refuses to give back more than is left.
func (s *Sale) covers(back Amounts, currency money.Currency) error {
	left := s.Left()
	for _, part := range []struct {
		name       string
		back, left money.Amount
	}{{"price", back.Price, left.Price}, {"tax", back.Tax, left.Tax}, {"fee", back.Fee, left.Fee}} {
		if part.back > part.left {
			still := currency.Format(part.left)
			return fault.New(fault.Precondition, "REFUND_ABOVE_SALE", "Of the sale's %s only %s %s is left to give back, not %s.",
				part.name, still, currency.Code, currency.Format(part.back)).At(part.name).With("left", still)
		}
	}
	return nil
}
