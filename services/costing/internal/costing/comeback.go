package costing

import (
	"time"

	"tackfree/pkg/id"
)

// Comeback is that a sold piece is back with a fault. What is done about it is rework of the piece, and cost of
// what was sold at once, for the piece stands there (see Place).
type Comeback struct {
	ID         id.ID
	Piece      id.ID
	Warranty   bool   // the shop bears it
	Source     string // where the fault is from, as it was last judged; empty: nobody judged it
	ReportedAt time.Time
}

// Mending is that stages are to mend what came back.
type Mending struct {
	Fact
	Comeback   id.ID
	ReportedAt time.Time
	Faults     []string // kinds, each as often as it was found
	Stages     []Reopened
}

// ComeBack notes that a piece came back.
func (b *Book) ComeBack(c Comeback) { b.Comebacks = append(b.Comebacks, c) }

// Mend notes stages that mend, for what was found as an inspection finds it: they are done again from the beginning.
func (b *Book) Mend(m Mending) {
	b.Mendings = append(b.Mendings, m)
	back := SentBack{Fact: m.Fact, BecauseOf: m.Comeback, Stages: m.Stages}
	back.OccurredAt = m.ReportedAt
	b.SentBacks = append(b.SentBacks, back)
	b.Inspections = append(b.Inspections, Inspection{Fact: m.Fact, BackTo: m.Comeback, Defects: m.Faults})
}

// ReworkOf is of which rework something is asked.
type ReworkOf string

// The kinds of rework.
const (
	AllRework      ReworkOf = ""
	OfShop         ReworkOf = "shop"      // on pieces that had not come back
	OfAllComebacks ReworkOf = "comebacks" // on what came back after it was sold
	OfWarranty     ReworkOf = "warranty"  // of that, what the shop bears
)

// Only is the rework of one kind.
func (w Reworked) Only(of ReworkOf) Reworked {
	var kept []SpentAgain
	for _, s := range w.Spent {
		c, back := w.Comebacks[s.Stage]
		if of == AllRework || of == OfShop && !back || of == OfAllComebacks && back || of == OfWarranty && c.Warranty {
			kept = append(kept, s)
		}
	}
	w.Spent = kept
	return w
}

// source is where the fault is from for which something was done again.
func (w Reworked) source(s SpentAgain) Of { return ofWord(w.Comebacks[s.Stage].Source) }

// comeback is the one for which something was done again; none where it is not of one.
func (w Reworked) comeback(s SpentAgain) Of {
	c, back := w.Comebacks[s.Stage]
	if !back {
		return Of{}
	}
	o := ofPiece(c.Piece, w.Pieces[c.Piece].Tag, w.Pieces[c.Piece].Title)
	o.Key = id.Name("comebacks", c.ID)
	o.order += " " + o.Key
	return o
}
