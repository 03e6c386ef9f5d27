package intake

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// CommissionState is how far a commission is.
type CommissionState string

// The states: estimated ── Approve ─▶ approved ── End ─▶ finished; ── Decline ─▶ declined ── Revise ─▶ estimated; each
// but a finished one ── Cancel ─▶ cancelled; finished
// as invoiced, and the invoice undone ── Reopen ─▶ approved. One that is estimated or approved has its piece to itself.
const (
	Estimated CommissionState = "estimated"
	Approved  CommissionState = "approved"
	Declined  CommissionState = "declined"
	Cancelled CommissionState = "cancelled"
	Finished  CommissionState = "finished"
)

// mostVersions is how many versions an estimate has at most, and mostOrders how many change orders a commission.
const (
	mostVersions = 50
	mostOrders   = 100
)

// Commission is what a client orders on a piece of their own.
type Commission struct {
	ID           id.ID
	Number       int32 // 1, 2, 3 … as they were begun
	Client       id.ID
	ClientNumber int32
	ClientName   string
	Piece        id.ID // id.Nil: it was not brought yet
	PieceTag     int32
	Description  string
	State        CommissionState
	Estimates    []Estimate // oldest first, at least one; of a list the newest alone
	Approved     int32      // which version was; 0: none
	ChangeOrders []ChangeOrder
	Settlement   *Settlement // of a cancelled one
	Finish       *Finish     // of a finished one
	BegunAt      time.Time
	Version      int64
}

// Last is the newest version of the estimate.
func (c Commission) Last() Estimate { return c.Estimates[len(c.Estimates)-1] }

// Begin makes a commission's first version, which has everything but its number. Faults: CLIENT_RETIRED,
// PIECE_NOT_A_CLIENTS, PIECE_OF_ANOTHER_CLIENT, PIECE_SCRAPPED and those of a draft.
func Begin(client Client, piece *Piece, description string, d EstimateDraft, t CommissionTerms, w Writing) (Commission, error) {
	c := Commission{ID: id.New(), Client: client.ID, ClientNumber: client.Number, ClientName: client.Details.Name, Description: description,
		State: Estimated, BegunAt: w.At, Version: 1}
	if err := client.Serves(); err != nil {
		return c, err
	}
	if piece != nil {
		if err := c.take(*piece); err != nil {
			return c, err
		}
	}
	e, err := d.write(t, client.Details.Exemption, w)
	e.Number = 1
	c.Estimates = []Estimate{e}
	return c, err
}

// take makes a piece the commission's.
func (c *Commission) take(p Piece) error {
	if err := p.IsClients(); err != nil {
		return err
	}
	switch {
	case p.ClientRecord != id.Nil && p.ClientRecord != c.Client:
		return fault.New(fault.Precondition, "PIECE_OF_ANOTHER_CLIENT", "Piece %d is %s's, who is another client; check which piece it is.", p.Tag, p.Client).At("piece")
	case p.State == Scrapped:
		return fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was already scrapped: %s.", p.Tag, p.ScrapReason).At("piece")
	}
	c.Piece, c.PieceTag = p.ID, p.Tag
	return nil
}

// Revise adds the next version, by the tax of the client as it is now. Faults: COMMISSION_CANCELLED,
// COMMISSION_FINISHED, ESTIMATE_APPROVED, TOO_MANY_VERSIONS and those of a draft.
func (c *Commission) Revise(d EstimateDraft, client Client, t CommissionTerms, w Writing) error {
	if err := c.isOpen(); err != nil {
		return err
	}
	if c.Last().Number >= mostVersions {
		return fault.New(fault.Precondition, "TOO_MANY_VERSIONS", "The estimate of commission %d has %d versions, and no more are kept; cancel it and begin another.", c.Number, mostVersions)
	}
	e, err := d.write(t, client.Details.Exemption, w)
	if err != nil {
		return err
	}
	e.Number = c.Last().Number + 1
	c.Estimates = append(c.Estimates, e)
	c.State = Estimated
	c.Version++
	return nil
}

// Bring says which piece was brought for it. Faults: COMMISSION_CANCELLED, COMMISSION_FINISHED, COMMISSION_HAS_PIECE and those of a piece.
func (c *Commission) Bring(p Piece) error {
	if err := c.isThere(); err != nil {
		return err
	}
	if c.Piece != id.Nil {
		return fault.New(fault.Precondition, "COMMISSION_HAS_PIECE", "Commission %d is already about piece %d.", c.Number, c.PieceTag)
	}
	if err := c.take(p); err != nil {
		return err
	}
	c.Version++
	return nil
}

// isThere refuses a commission that came to its end.
func (c Commission) isThere() error {
	switch c.State {
	case Finished:
		return fault.New(fault.Precondition, "COMMISSION_FINISHED", "Commission %d is finished; begin another for what is to be done now.", c.Number)
	case Cancelled:
		return fault.New(fault.Precondition, "COMMISSION_CANCELLED", "Commission %d was cancelled: %s. Begin another.", c.Number, c.Settlement.Reason)
	}
	return nil
}

// isOpen refuses one whose estimate is settled.
func (c Commission) isOpen() error {
	if c.State == Approved {
		return fault.New(fault.Precondition, "ESTIMATE_APPROVED", "The client already approved version %d of commission %d; write what turns up as a change order.", c.Approved, c.Number)
	}
	return c.isThere()
}
