package workflow

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Outcome is what became of something that came back.
type Outcome string

// The outcomes; empty: it is open.
const (
	OutcomeMended   Outcome = "mended"
	OutcomeRefunded Outcome = "refunded" // its owner got money back, and keeps it
	OutcomeNothing  Outcome = "nothing_found"
	OutcomeDeclined Outcome = "declined"
)

// Comeback is that a piece came back with a fault after it was sold or invoiced.
type Comeback struct {
	ID          id.ID
	Piece       id.ID
	Tag         int32
	SoldAt      time.Time
	ReportedAt  time.Time
	ReportedBy  string
	Faults      []Defect
	Note        string
	Warranty    bool // the shop bears it
	InShop      bool
	Outcome     Outcome
	OutcomeNote string
	ClosedAt    time.Time // zero: it is open
	ReturnedAt  time.Time
	Stages      []id.ID // that mend it
	Judgement   *Judgement
	Rework      time.Duration // hands-on, on the stages that mend it
	Actor       string
	Version     int64
}

// Open reports that it is not dealt with.
func (c Comeback) Open() bool { return c.ClosedAt.IsZero() }

// OpenComeback notes that the plan's piece came back, and puts the piece on the floor; other is one of the piece
// that is open, or nil. parts are the piece's. Times are in the shop's zone. Faults: PIECE_SCRAPPED, COMEBACK_OPEN,
// PIECE_NOT_SOLD, REPORTED_BEFORE_SALE, DEFECT_UNKNOWN, DEFECT_UNSAID, PART_UNKNOWN.
func (p *Plan) OpenComeback(c Comeback, other *Comeback, parts []Part) (Comeback, error) {
	switch piece := p.Piece; {
	case other != nil:
		return c, fault.New(fault.Precondition, "COMEBACK_OPEN", "Piece %d is back already, since %s. Close that first, or mend this with it.", piece.Tag, saidLike(other.ReportedAt, c.ReportedAt)).
			With("comeback", id.Name("comebacks", other.ID))
	case piece.Scrapped:
		return c, fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was scrapped, so it does not come back.", piece.Tag)
	case !piece.Sold():
		return c, fault.New(fault.Precondition, "PIECE_NOT_SOLD", "Piece %d is still in the shop's hands, neither sold nor invoiced as far as the floor was told. What is wrong with it is found by an inspection.", piece.Tag)
	case before(c.ReportedAt, piece.SoldAt):
		return c, fault.New(fault.Invalid, "REPORTED_BEFORE_SALE", "Piece %d was only sold on %s, so it did not come back on %s; check the time.",
			piece.Tag, saidLike(piece.SoldAt, c.ReportedAt), said(c.ReportedAt)).At("report_time")
	}
	for n, d := range c.Faults {
		if f := d.known(); f != nil {
			return c, f.At(fmt.Sprintf("faults[%d].kind", n))
		}
		label, known := p.labelOf(d.Part, parts)
		if !known {
			return c, unknownPart(p.Piece).At(fmt.Sprintf("faults[%d].part", n))
		}
		c.Faults[n].PartLabel = label
	}
	c.Piece, c.Tag, c.SoldAt, c.Version = p.Piece.ID, p.Piece.Tag, p.Piece.SoldAt, 1
	p.Piece.SoldAt = time.Time{} // until it is closed
	p.Piece.Version++
	return c, nil
}

// MayMend refuses what is dealt with. Fault: COMEBACK_CLOSED.
func (c Comeback) MayMend() error {
	if c.Open() {
		return nil
	}
	return fault.New(fault.Precondition, "COMEBACK_CLOSED", "What came back of piece %d is closed: %s. If it came back again, note that anew.", c.Tag, strings.ReplaceAll(string(c.Outcome), "_", " "))
}

// Closing is how a come-back is to be closed; times are in the shop's zone.
type Closing struct {
	Outcome    Outcome
	ReturnedAt time.Time
	Note       string
	At         time.Time      // now
	Worked     map[id.ID]bool // stages that anybody worked on: these are not dropped
	SoldAt     time.Time      // of the piece; zero: it came back for good meanwhile
}

// CloseComeback ends it and takes the piece off the floor; it returns the stages that are dropped with it. Faults:
// COMEBACK_CLOSED, RETURNED_BEFORE_REPORT, COMEBACK_UNDONE, STAGE_HAS_OPEN_CLOCK, STAGE_IN_BATCH.
func (p *Plan) CloseComeback(c Comeback, how Closing) (Comeback, []id.ID, error) {
	if err := c.MayMend(); err != nil {
		return c, nil, err
	}
	if before(how.ReturnedAt, c.ReportedAt) {
		return c, nil, fault.New(fault.Invalid, "RETURNED_BEFORE_REPORT", "It only came back on %s, so it did not go back on %s; check the time.",
			saidLike(c.ReportedAt, how.ReturnedAt), said(how.ReturnedAt)).At("return_time")
	}
	dropped, err := p.unmended(c, how)
	if err != nil {
		return c, nil, err
	}
	c.Outcome, c.OutcomeNote, c.ReturnedAt, c.ClosedAt = how.Outcome, how.Note, how.ReturnedAt, how.At
	c.Stages = slices.DeleteFunc(slices.Clone(c.Stages), func(s id.ID) bool { return slices.Contains(dropped, s) })
	c.Version++
	p.Stages = slices.DeleteFunc(p.Stages, func(s Stage) bool { return slices.Contains(dropped, s.ID) })
	p.Piece.SoldAt = how.SoldAt
	p.Piece.Version++
	return c, dropped, nil
}

// unmended lists what is left of the stages that mend it and was not begun.
func (p *Plan) unmended(c Comeback, how Closing) (dropped []id.ID, err error) {
	var left []string
	for _, s := range p.Stages {
		if !slices.Contains(c.Stages, s.ID) || s.Finished() {
			continue
		}
		switch {
		case len(p.OnIt[s.ID]) > 0:
			return nil, p.onTheClock(s)
		case s.Batch != id.Nil:
			return nil, fault.New(fault.Precondition, "STAGE_IN_BATCH", "%s is run in a batch. Take it out of that first.", s.Title())
		case !how.Worked[s.ID]:
			dropped = append(dropped, s.ID)
		}
		left = append(left, s.Title())
	}
	if how.Outcome == OutcomeMended && len(left) > 0 {
		names := strings.Join(left, ", ")
		return nil, fault.New(fault.Precondition, "COMEBACK_UNDONE", "Piece %d is not mended yet, for these are left: %s. Finish them, or say how else it ended.", c.Tag, names).With("open", names)
	}
	return dropped, nil
}
