package workflow

import (
	"fmt"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Piece is a piece as the floor sees it.
type Piece struct {
	ID         id.ID
	Tag        int32     // 0 while nobody has said
	TakenIn    time.Time // zero while nobody has said
	Scrapped   bool
	ScrappedAt time.Time // zero of a scrapped one: nobody knows, which is since ever
	Planned    bool
	SoldAt     time.Time // and did not come back; zero: it was not sold
	Promised   time.Time // zero: to nobody
	Value      *int64    // in minor units; nil: nobody said
	Version    int64
}

// there refuses a time, given in a field, at which the piece had not come in.
func (p Piece) there(at time.Time, field string) error {
	if !before(at, p.TakenIn) {
		return nil
	}
	return fault.New(fault.Invalid, "TIME_BEFORE_INTAKE", "Piece %d only came in on %s, and %s is before that; check the time.",
		p.Tag, saidLike(p.TakenIn, at), said(at)).At(field)
}

// scrapped is the refusal of new work on a piece that was given up.
func (p Piece) scrapped() error {
	return fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was scrapped; no more work is done on it.", p.Tag)
}

// scrappedBefore refuses work that went on after the piece was given up. Fault: PIECE_SCRAPPED.
func (p Piece) scrappedBefore(end time.Time) error {
	switch {
	case !p.Scrapped:
		return nil
	case p.ScrappedAt.IsZero():
		return fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was scrapped, and nobody knows any more when; write the time down as one that belongs to no piece.", p.Tag)
	case !before(p.ScrappedAt, end):
		return nil
	}
	return fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was scrapped on %s, and this goes on until %s. End it there; what came after belongs to no piece.",
		p.Tag, saidLike(p.ScrappedAt, end), said(end))
}

// Sold reports whether the piece was sold, or invoiced, and did not come back: what is left to do on it is
// neither offered nor planned.
func (p Piece) Sold() bool { return !p.SoldAt.IsZero() }

// Notice is what whoever works on the piece is to know that does not stand in their way; empty: nothing. now
// is in the shop's zone. A sold piece may be touched up before it is delivered, or come back to be set right.
func (p Piece) Notice(now time.Time) string {
	if !p.Sold() {
		return ""
	}
	return fmt.Sprintf("Piece %d was sold on %s. What is worked on it now counts as work on it all the same.", p.Tag, saidLike(p.SoldAt, now))
}

// CheckPlan refuses a second plan and a plan for a scrapped piece.
func (p Piece) CheckPlan() error {
	switch {
	case p.Scrapped:
		return p.scrapped()
	case p.Planned:
		return fault.New(fault.Precondition, "PIECE_ALREADY_PLANNED", "Piece %d has its stages already.", p.Tag)
	}
	return nil
}
