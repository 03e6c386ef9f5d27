// Package sales is how a piece leaves the shop for money, and how money goes back: the
// rules, without clock, database or wire.
//
//	                       ChangeAskingPrice, ChangeChannels,
//	                       a step of its markdown plan
//	                              ⟲
//	(first) ─▶ not listed ─ List ─▶ listed ───── Sell ───▶ sold
//	             ▲  │ ◀── Withdraw ──┘                     ▲ │
//	             │  └──────────────── Sell ────────────────┘ │
//	             └────────── Refund, piece returned ─────────┘
//
// A piece has one listing for all its life and a sale for each time it was sold; only
// the last sale can be open, that is, without the piece having come back. Money of any
// sale can go back at any time, before its piece or after it, and alone moves no state.
// Pieces that are sold together at one price are a set; each has its sale, with its share. A listed piece stands on one channel
// or several at one price, and may have a plan of when less is asked; with the listing that ends. A listed piece may be kept for one
// buyer (hold.go), who may have given money before (deposit.go): it is then marked down no further, is not withdrawn, and is sold to
// them alone. What buyers offer for it (offer.go) comes to one hold at most.
// Whether a piece is there at all, since when, scrapped or a client's own is intake's to
// know; it is asked before a command.
package sales

import (
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// State is whether a piece can be had.
type State string

// The states of a listing.
const (
	NotListed State = "not_listed" // never listed, or come back
	Listed    State = "listed"
	Sold      State = "sold"
)

// Direct is the channel of a sale that went through none.
const Direct = "direct"

// Piece is what intake says of a piece.
type Piece struct {
	ID         id.ID
	Tag        int32
	Scrapped   bool
	Commission bool      // a client's own
	TakenInAt  time.Time // in the shop's zone, for what a refusal says
}

// Listing is what sales knows of one piece.
type Listing struct {
	Piece       id.ID
	Tag         int32
	State       State
	Channel     string       // of the latest listing; empty when there is none
	AskingPrice money.Amount // zero when there is none
	Others      []string     // channels on which it stands beside Channel, while it is listed
	Withdrawn   Withdrawal
	Hold        Hold   // zero: it is kept for nobody
	Sales       []Sale // oldest first
	Version     int64
}

// New is what sales knows before the first command about a piece.
func New(p Piece) Listing { return Listing{Piece: p.ID, Tag: p.Tag, State: NotListed} }

// List puts the piece up for sale on one channel or several. Faults: PRICE_ZERO, TIME_BEFORE_INTAKE,
// PIECE_SCRAPPED, PIECE_SOLD, PIECE_LISTED, PIECE_IS_COMMISSION, CHANNEL_LISTED_TWICE.
func (l *Listing) List(p Piece, at time.Time, fold Fold, channel string, price money.Amount, others ...string) error {
	if err := asked(price); err != nil {
		return err
	}
	switch {
	case p.notYetIn(at):
		return p.onlyCameIn("list_time")
	case p.Scrapped:
		return scrapped(p)
	case l.State == Sold:
		return l.sold()
	case l.State == Listed:
		return fault.New(fault.Precondition, "PIECE_LISTED",
			"Piece %d is already listed on %s; change its asking price instead.", l.Tag, l.Channel)
	case p.Commission:
		return commission(p)
	}
	if err := l.stand(append([]string{channel}, others...), fold, "other_channels"); err != nil {
		return err
	}
	l.State, l.AskingPrice, l.Withdrawn = Listed, price, Withdrawal{}
	return nil
}

// Offerable refuses a piece that cannot be put up for sale, or be asked another price for. Faults:
// PIECE_SCRAPPED, PIECE_SOLD, PIECE_IS_COMMISSION.
func (l *Listing) Offerable(p Piece) error {
	switch {
	case p.Scrapped:
		return scrapped(p)
	case l.State == Sold:
		return l.sold()
	case p.Commission:
		return commission(p)
	}
	return nil
}

// ChangeAskingPrice asks another price and returns the one before. Faults: PRICE_ZERO,
// PIECE_SOLD, PIECE_NOT_LISTED, PRICE_UNCHANGED.
func (l *Listing) ChangeAskingPrice(to money.Amount) (from money.Amount, err error) {
	if err := asked(to); err != nil {
		return 0, err
	}
	if err := l.offered(); err != nil {
		return 0, err
	}
	if to == l.AskingPrice {
		return 0, fault.New(fault.Precondition, "PRICE_UNCHANGED",
			"Piece %d is already listed at this price; there is nothing to change.", l.Tag)
	}
	from, l.AskingPrice = l.AskingPrice, to
	l.Version++
	return from, nil
}

// AskAtMost asks a price if it is less than what is asked, and returns the one before; zero: nothing was changed. Faults:
// PRICE_ZERO, PIECE_SOLD, PIECE_NOT_LISTED.
func (l *Listing) AskAtMost(price money.Amount) (from money.Amount, err error) {
	if l.State == Listed && price >= l.AskingPrice {
		return 0, nil
	}
	return l.ChangeAskingPrice(price)
}

// Sell sells the piece, listed or not, and returns the sale with its channel, as SoldOn says. Faults: PRICE_ZERO,
// FEE_ABOVE_PRICE, TAX_ABOVE_PRICE, PAID_AND_ON_ACCOUNT, TIME_BEFORE_INTAKE, PIECE_SCRAPPED, PIECE_SOLD, LISTED_ON_SEVERAL_CHANNELS,
// PIECE_HELD, HOLD_NOT_FOUND, HOLD_FOR_ANOTHER: one that is held is sold to its holder, which ends the hold.
func (l *Listing) Sell(p Piece, s Sale) (Sale, error) {
	if err := s.check(); err != nil {
		return s, err
	}
	if err := s.fits(); err != nil {
		return s, err
	}
	if err := l.sellable(p, s.SoldAt, "sale_time"); err != nil {
		return s, err
	}
	if err := l.takeUp(p, &s); err != nil {
		return s, err
	}
	channel, err := l.SoldOn(s.Channel)
	if err != nil {
		return s, err
	}
	s.Channel, s.CashRounding = channel, s.rounding(s.AtOnce())
	l.end(Sold)
	l.Hold = Hold{}
	l.Sales = append(l.Sales, s)
	l.Version++
	return s, nil
}

// check refuses sums that no sale has.
func (a Amounts) check() error {
	switch {
	case a.Price == 0:
		return fault.New(fault.Invalid, "PRICE_ZERO",
			"A sale needs a price above zero. Scrap a piece that is given away, or sell it for the smallest amount there is.").At("price")
	case a.Fee > a.Price:
		return fault.New(fault.Invalid, "FEE_ABOVE_PRICE",
			"The channel cannot keep more than the price of the sale; check whether the two were mixed up.").At("fee")
	case a.Tax > a.Price:
		return fault.New(fault.Invalid, "TAX_ABOVE_PRICE",
			"A sales tax is never more than the price it is on; check whether the two were mixed up.").At("tax")
	}
	return nil
}

// takeUp refuses to sell a piece that is held to anybody but its holder, who is the buyer where nobody says one.
func (l *Listing) takeUp(p Piece, s *Sale) error {
	switch {
	case s.Hold == id.Nil:
		return l.Free(p.TakenInAt.Location())
	case s.Hold != l.Hold.ID:
		return ErrNoHold
	case s.Buyer != "" && !strings.EqualFold(s.Buyer, l.Hold.Buyer):
		return fault.New(fault.Precondition, "HOLD_FOR_ANOTHER",
			"Piece %d is held for %s, not for %s; leave the buyer away, or release the hold first.", l.Tag, l.Hold.Buyer, s.Buyer).At("buyer")
	}
	s.Buyer = l.Hold.Buyer
	return nil
}

// sellable refuses to sell, or take money for, what cannot be had at the time that a field says.
func (l *Listing) sellable(p Piece, at time.Time, field string) error {
	switch {
	case p.notYetIn(at):
		return p.onlyCameIn(field)
	case p.Scrapped:
		return scrapped(p)
	case l.State == Sold:
		return l.sold()
	}
	return nil
}

func asked(price money.Amount) error {
	if price == 0 {
		return fault.New(fault.Invalid, "PRICE_ZERO", "The asking price must be above zero.").At("asking_price")
	}
	return nil
}

// notYetIn reports whether the shop did not have the piece at that time. People write
// times to the minute, and the intake's has its seconds.
func (p Piece) notYetIn(at time.Time) bool { return at.Before(p.TakenInAt.Truncate(time.Minute)) }

func (p Piece) onlyCameIn(field string) error {
	return fault.New(fault.Invalid, "TIME_BEFORE_INTAKE", "Piece %d only came in on %s; check the date.",
		p.Tag, p.TakenInAt.Format("2006-01-02 15:04 MST")).At(field)
}

func scrapped(p Piece) error {
	return fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was scrapped; it can be neither listed nor sold.", p.Tag)
}

func commission(p Piece) error {
	return fault.New(fault.Precondition, "PIECE_IS_COMMISSION",
		"Piece %d is a client's own and not for sale; sell it to the client at the agreed price, which is the invoice.", p.Tag)
}

func (l *Listing) sold() error {
	return fault.New(fault.Precondition, "PIECE_SOLD",
		"Piece %d is already sold. If it came back, refund that sale with the piece returned first.", l.Tag)
}
