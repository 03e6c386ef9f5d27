// Package intake is how a piece comes into the shop and how it is given up: the rules,
// without clock, database or wire.
//
//	TakeIn ─▶ in hand ── Scrap ─▶ scrapped
//
// Whether a piece is sold is the sales service's to know; it is asked before a scrap.
package intake

import (
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
	ID          id.ID
	Tag         int32 // read aloud and tied to the piece
	Title       string
	Kind        string
	Purchase    *Purchase
	Client      string
	Parts       []Part
	State       State
	ScrapReason string
	TakenInAt   time.Time
	Version     int64
}

// Purchase is what a stock piece was bought for.
type Purchase struct {
	Price  money.Amount
	Source string
	Day    time.Time // a calendar day
}

// Part is a part of a piece that goes through stages by itself.
type Part struct {
	ID                       id.ID
	Label                    string
	Count                    int32             // alike ones
	Length, Width, Thickness quantity.Quantity // zero where nobody measured
}

// TakeIn makes the piece's first version.
func TakeIn(p Piece) Piece {
	p.State, p.Version = InHand, 1
	return p
}

// Scrap gives the piece up. Faults: PIECE_SCRAPPED, PIECE_SOLD.
func (p *Piece) Scrap(reason string, sold bool) error {
	switch {
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
