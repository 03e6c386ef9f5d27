package sales

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// HoldState is what became of a hold.
type HoldState string

// The states of a hold.
const (
	HoldOpen     HoldState = "open"
	HoldReleased HoldState = "released" // somebody ended it
	HoldLapsed   HoldState = "lapsed"   // its time was over
	HoldSold     HoldState = "sold"     // the piece was sold to its buyer
)

// LapseRule is what becomes of a hold's deposits if it ends without a sale.
type LapseRule string

// The rules of a lapse.
const (
	NothingAgreed LapseRule = "" // for there never was a deposit
	GivenBack     LapseRule = "given_back"
	Kept          LapseRule = "kept"
)

// longestHold is how long a piece is kept at most.
const longestHold = 366 * 24 * time.Hour

// Hold is a listed piece that is kept for one buyer.
type Hold struct {
	ID      id.ID
	Piece   id.ID
	Tag     int32
	State   HoldState
	Buyer   string
	Price   money.Amount // agreed, without tax; zero: none was
	HeldAt  time.Time
	Until   time.Time // from then on it is over
	Rule    LapseRule
	EndedAt time.Time
	Reason  string // why it was released
}

// IsHeld reports whether the piece is kept for somebody.
func (l *Listing) IsHeld() bool { return l.Hold.ID != id.Nil }

// Keep holds the piece for a buyer. Faults: PIECE_SCRAPPED, PIECE_SOLD, PIECE_IS_COMMISSION, PIECE_NOT_LISTED, PIECE_HELD,
// HOLD_UNTIL_PAST, HOLD_TOO_LONG.
func (l *Listing) Keep(p Piece, h Hold) error {
	if err := l.Offerable(p); err != nil {
		return err
	}
	if err := l.offered(); err != nil {
		return err
	}
	if err := l.Free(p.TakenInAt.Location()); err != nil {
		return err
	}
	if err := h.lasts(h.HeldAt); err != nil {
		return err
	}
	h.State, h.Piece, h.Tag = HoldOpen, l.Piece, l.Tag
	l.Hold = h
	l.Version++
	return nil
}

// Free refuses a piece that is kept for somebody, in words that say until when by the clock of a zone. They name the buyer: whoever is
// refused may sell, and is told. Fault: PIECE_HELD.
func (l *Listing) Free(zone *time.Location) error {
	if !l.IsHeld() {
		return nil
	}
	until := l.Hold.Until.In(zone).Format("2006-01-02 15:04 MST")
	return fault.New(fault.Precondition, "PIECE_HELD",
		"Piece %d is held for %s until %s; sell it to them by naming the hold, or release the hold first.", l.Tag, l.Hold.Buyer, until).
		With("hold", id.Name("holds", l.Hold.ID)).With("until", l.Hold.Until.UTC().Format(time.RFC3339))
}

// lasts refuses an end that is no time to wait for.
func (h Hold) lasts(now time.Time) error {
	switch {
	case !h.Until.After(now):
		return fault.New(fault.Invalid, "HOLD_UNTIL_PAST", "A hold ends in the future; say until when the piece is kept.").At("until_time")
	case h.Until.Sub(now) > longestHold:
		return fault.New(fault.Invalid, "HOLD_TOO_LONG", "A piece is kept for a year at most; check the date.").At("until_time")
	}
	return nil
}

// ExtendHold lets the hold end at another time, and returns the one before. The hold is the piece's open one, or one that is over.
// Faults: HOLD_NOT_OPEN, HOLD_UNTIL_PAST, HOLD_TOO_LONG, HOLD_UNTIL_UNCHANGED.
func (l *Listing) ExtendHold(h *Hold, until, now time.Time) (before time.Time, err error) {
	if err := h.NotOver(); err != nil {
		return before, err
	}
	before, h.Until = h.Until, until
	if until.Equal(before) {
		return before, fault.New(fault.Precondition, "HOLD_UNTIL_UNCHANGED", "The hold ends at this time already; there is nothing to change.").At("until_time")
	}
	if err := h.lasts(now); err != nil {
		return before, err
	}
	l.Hold = *h
	l.Version++
	return before, nil
}

// EndHold ends the hold in a state other than open. Fault: HOLD_NOT_OPEN.
func (l *Listing) EndHold(h *Hold, how HoldState, reason string, at time.Time) error {
	if err := h.NotOver(); err != nil {
		return err
	}
	h.State, h.Reason, h.EndedAt = how, reason, at
	l.Hold = Hold{}
	l.Version++
	return nil
}

// NotOver refuses a hold that is over. Fault: HOLD_NOT_OPEN.
func (h *Hold) NotOver() error {
	if h.State == HoldOpen {
		return nil
	}
	return fault.New(fault.Precondition, "HOLD_NOT_OPEN", "That hold of piece %d is over: it was %s. Hold the piece anew.", h.Tag, holdOver[h.State]).At("hold")
}

var holdOver = map[HoldState]string{HoldReleased: "released", HoldLapsed: "not taken up in time", HoldSold: "sold to its buyer"}

// ErrNoHold is the fault about a hold that there never was.
var ErrNoHold = fault.New(fault.NotFound, "HOLD_NOT_FOUND", "There is no such hold of this piece; shop hold list has them.").At("hold")
