// Package intake is how a piece comes into the shop and how it is given up: the rules,
// without clock, database or wire.
//
//	Begin: client, estimate 1 ── Revise ─▶ 2, 3 … ── Approve ─▶ change orders ── Cancel ─▶ Settlement
//	sighting ─▶ GoBy: parts ─▶ Question.Advise ─▶ prospect ── Decline ─▶ declined
//	                                                  └────── Buy ──────┐
//	TakeIn, TakeInLot ──────────────────────────────────────────────────┴▶ in hand ── Scrap ─▶ scrapped
//
// What was bought together at one price is a lot, and each piece's share of it is what the piece was
// bought for. Terms of a lot, and what a piece is said to have cost, can be put right at any time.
//
// Whether a piece is sold is the sales service's to know; it is asked before a scrap.
package intake

import (
	"fmt"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
)

// State is where in its life a piece is.
type State string

// The states of a piece.
const (
	InHand   State = "in_hand"
	Scrapped State = "scrapped"
)

// Piece is one piece of furniture. It has a Purchase when it was bought to be sold, and
// a Client when it is somebody's own.
type Piece struct {
	ID           id.ID
	Tag          int32 // read aloud and tied to the piece
	Title        string
	Kind         string
	Size         Size
	Condition    Condition // as it came in
	Purchase     *Purchase
	Client       string
	ClientRecord id.ID // id.Nil: the shop knows the name alone
	Prospect     id.ID // what was seen of it before it was bought; id.Nil: nobody noted it
	Parts        []Part
	State        State
	ScrapReason  string
	TakenInAt    time.Time
	Version      int64
}

// Purchase is what a stock piece was bought for.
type Purchase struct {
	Price  money.Amount
	Source string
	Day    time.Time // a calendar day
	Lot    id.ID     // that it was bought in, the price being its share; id.Nil: by itself
}

// Part is a part of a piece that goes through stages by itself.
type Part struct {
	ID                       id.ID
	Label                    string
	Count                    int32             // alike ones
	Length, Width, Thickness quantity.Quantity // zero where nobody measured
}

// TakeIn makes the piece's first version. day is the shop's day of TakenInAt. Faults:
// PURCHASE_AFTER_INTAKE, PART_LABEL_TWICE.
func TakeIn(p Piece, day time.Time) (Piece, error) {
	if p.Purchase != nil && p.Purchase.Day.After(day) {
		return p, boughtLater(day, p.Purchase.Day, "purchase.date")
	}
	if err := toldApart(p.Parts); err != nil {
		return p, err
	}
	p.State, p.Version = InHand, 1
	return p, nil
}

func boughtLater(in, bought time.Time, field string) error {
	return fault.New(fault.Invalid, "PURCHASE_AFTER_INTAKE", "It came in on %s and cannot have been bought on %s, which is later; check the dates.",
		in.Format(time.DateOnly), bought.Format(time.DateOnly)).At(field)
}

// toldApart keeps the labels of parts different, for a stage is told by its part's label.
func toldApart(parts []Part) error {
	seen := map[string]bool{}
	for i, part := range parts {
		key := strings.ToLower(part.Label)
		if seen[key] {
			return fault.New(fault.Invalid, "PART_LABEL_TWICE",
				"Two parts are called %q; give each a label of its own, or say how many alike there are.", part.Label).At(fmt.Sprintf("parts[%d].label", i))
		}
		seen[key] = true
	}
	return nil
}

// Scrap gives the piece up. Faults: PIECE_SCRAPPED, PIECE_SOLD, TIME_BEFORE_INTAKE.
func (p *Piece) Scrap(reason string, at time.Time, sold bool) error {
	switch {
	case p.notYetIn(at):
		return p.onlyCameIn("scrap_time")
	case p.State == Scrapped:
		return fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was already scrapped: %s.", p.Tag, p.ScrapReason)
	case sold:
		return fault.New(fault.Precondition, "PIECE_SOLD",
			"Piece %d is sold. If it came back, refund the sale with the piece returned, then scrap it.", p.Tag)
	}
	p.State, p.ScrapReason = Scrapped, reason
	p.Version++
	return nil
}

// IsHere refuses a piece that is sold and did not come back: what is done next to it could not be invoiced. Fault: PIECE_SOLD.
func (p Piece) IsHere(sold bool) error {
	if sold {
		return fault.New(fault.Precondition, "PIECE_SOLD",
			"Piece %d is sold, or was invoiced. If it was brought again, note that in sales first (refund the sale with nothing but the piece returned), then begin.", p.Tag).At("piece")
	}
	return nil
}

// CorrectPurchase says what the piece really cost and returns what it was said to have cost; also
// when it is scrapped or sold. Faults: TIME_BEFORE_INTAKE, PIECE_IS_COMMISSION, PIECE_OF_LOT,
// PRICE_UNCHANGED.
func (p *Piece) CorrectPurchase(to money.Amount, at time.Time) (from money.Amount, err error) {
	switch {
	case p.notYetIn(at):
		return 0, p.onlyCameIn("correct_time")
	case p.Purchase == nil:
		return 0, fault.New(fault.Precondition, "PIECE_IS_COMMISSION", "Piece %d is a client's own and was not bought.", p.Tag)
	case p.Purchase.Lot != id.Nil:
		return 0, fault.New(fault.Precondition, "PIECE_OF_LOT",
			"Piece %d was bought in a lot; correct the price of the lot, or revise how it is split.", p.Tag).With("lot", id.Name("lots", p.Purchase.Lot))
	case p.Purchase.Price == to:
		return 0, unchanged(fmt.Sprintf("Piece %d", p.Tag))
	}
	bought := *p.Purchase
	from, bought.Price = bought.Price, to
	p.Purchase = &bought
	p.Version++
	return from, nil
}

func unchanged(what string) error {
	return fault.New(fault.Precondition, "PRICE_UNCHANGED", "%s is already down at this price; there is nothing to correct.", what).At("price")
}

// notYetIn reports whether the shop did not have the piece at that time. People type minutes.
func (p *Piece) notYetIn(at time.Time) bool { return at.Before(p.TakenInAt.Truncate(time.Minute)) }

func (p *Piece) onlyCameIn(field string) error {
	return fault.New(fault.Invalid, "TIME_BEFORE_INTAKE", "Piece %d only came in on %s; check the date.", p.Tag, p.TakenInAt.Format("2006-01-02 15:04 MST")).At(field)
}
