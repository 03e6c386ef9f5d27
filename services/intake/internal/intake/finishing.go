package intake

import (
	"time"

	"tackfree/pkg/fault"
)

// Finish is how a commission came to its end.
type Finish struct {
	Invoiced bool      `json:"invoiced"` // its piece was sold, which is the invoice
	Reason   string    `json:"reason"`   // of one that was closed by hand
	At       time.Time `json:"at"`
	Actor    string    `json:"actor"`
}

// End finishes a commission whose work is done; its piece is free for another one. Faults: COMMISSION_CANCELLED,
// COMMISSION_FINISHED, ESTIMATE_NOT_APPROVED, CLOSED_WITHOUT_REASON.
func (c *Commission) End(invoiced bool, w Writing) error {
	if err := c.isThere(); err != nil {
		return err
	}
	switch {
	case c.State != Approved:
		return fault.New(fault.Precondition, "ESTIMATE_NOT_APPROVED", "The client has not approved the estimate of commission %d, so there is nothing to finish; cancel it instead.", c.Number)
	case !invoiced && w.Reason == "":
		return fault.New(fault.Invalid, "CLOSED_WITHOUT_REASON", "Piece %d was not invoiced. Sell it to the client in sales, which is the invoice, or say why the commission is closed without that.", c.PieceTag).At("reason")
	}
	c.State, c.Finish = Finished, &Finish{Invoiced: invoiced, Reason: w.Reason, At: w.At, Actor: w.Actor}
	c.Version++
	return nil
}

// Reopen takes up again a commission that was finished as invoiced when it was not after all: the invoice was undone.
// It is approved as it was before; the command that takes it up makes its next version.
func (c *Commission) Reopen(undone bool) {
	if undone && c.WasInvoiced() {
		c.State, c.Finish = Approved, nil
	}
}

// WasInvoiced says whether it came to its end by its invoice.
func (c Commission) WasInvoiced() bool { return c.State == Finished && c.Finish.Invoiced }
