package intake

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
)

// ProspectState is what became of a prospect.
type ProspectState string

// The states: open ── Buy ─▶ bought, open ── Decline ─▶ declined.
const (
	ProspectOpen     ProspectState = "open"
	ProspectBought   ProspectState = "bought"
	ProspectDeclined ProspectState = "declined"
)

// Prospect is a piece that somebody saw and that might be bought.
type Prospect struct {
	ID       id.ID
	Number   int32 // 1, 2, 3 … as they were seen
	Sighting Sighting
	Parts    []Part // that the advice went by, without ids
	Advice   Advice // as it was then
	State    ProspectState
	SeenAt   time.Time
	Piece    id.ID // when bought
	PieceTag int32
	Paid     money.Amount
	Reason   string // when declined
	Version  int64
}

// Purchased is how a prospect is bought.
type Purchased struct {
	ID    id.ID // of the piece
	Tag   int32 // 0: the next free one
	By    Purchase
	Parts []Part // none: those that were seen, or gone by
	At    time.Time
}

// See makes the prospect's first version.
func See(s Sighting, g GoneBy, a Advice, at time.Time) Prospect {
	return Prospect{ID: id.New(), Sighting: s, Parts: g.Parts, Advice: a, State: ProspectOpen, SeenAt: at, Version: 1}
}

// Buy closes the prospect and makes its piece, which has everything but perhaps its tag. day is the
// shop's day of its coming in. Faults: PROSPECT_CLOSED, SOURCE_MISSING and those of TakeIn.
func (pr *Prospect) Buy(b Purchased, day time.Time) (Piece, error) {
	if err := pr.isOpen(); err != nil {
		return Piece{}, err
	}
	if b.By.Source == "" {
		b.By.Source = pr.Sighting.Source
	}
	if b.By.Source == "" {
		return Piece{}, fault.New(fault.Invalid, "SOURCE_MISSING", "Nobody said where the prospect was found; say it now, for what each source brings is learned from it.").At("source")
	}
	s := pr.Sighting
	p, err := TakeIn(Piece{ID: b.ID, Tag: b.Tag, Title: s.Called(), Kind: s.Kind, Size: s.Size, Condition: s.Condition(),
		Purchase: &b.By, Prospect: pr.ID, Parts: pr.partsOr(b.Parts), TakenInAt: b.At}, day)
	if err != nil {
		return p, err
	}
	pr.close(ProspectBought)
	pr.Piece, pr.Paid = p.ID, b.By.Price
	return p, nil
}

// partsOr are those that are said, or those that were gone by, each with an id of its own. Of parts
// that nobody measured on this piece the measures were a guess, which is none of the piece's.
func (pr *Prospect) partsOr(said []Part) []Part {
	if len(said) > 0 {
		return said
	}
	parts := make([]Part, len(pr.Parts))
	for i, part := range pr.Parts {
		part.ID = id.New()
		if !pr.Advice.Basis.PartsGiven {
			part.Length, part.Width, part.Thickness = quantity.Quantity{}, quantity.Quantity{}, quantity.Quantity{}
		}
		parts[i] = part
	}
	return parts
}

// Decline leaves it where it stands. Fault: PROSPECT_CLOSED.
func (pr *Prospect) Decline(reason string) error {
	if err := pr.isOpen(); err != nil {
		return err
	}
	pr.close(ProspectDeclined)
	pr.Reason = reason
	return nil
}

func (pr *Prospect) close(as ProspectState) {
	pr.State = as
	pr.Version++
}

func (pr *Prospect) isOpen() error {
	switch pr.State {
	case ProspectBought:
		return fault.New(fault.Precondition, "PROSPECT_CLOSED", "Prospect %d was already bought, as piece %d.", pr.Number, pr.PieceTag)
	case ProspectDeclined:
		return fault.New(fault.Precondition, "PROSPECT_CLOSED", "Prospect %d was already declined: %s.", pr.Number, pr.Reason)
	}
	return nil
}
