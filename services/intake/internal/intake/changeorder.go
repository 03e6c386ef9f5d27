package intake

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// ChangeOrderState is what became of a change order.
type ChangeOrderState string

// The states.
const (
	OrderOpen     ChangeOrderState = "open"
	OrderApproved ChangeOrderState = "approved"
	OrderDeclined ChangeOrderState = "declined"
)

// ChangeOrder is what turned up after the approval and costs more.
type ChangeOrder struct {
	Number   int32            `json:"number"`
	State    ChangeOrderState `json:"-"`
	Reason   string           `json:"reason"`
	Lines    []EstimateLine   `json:"lines"`
	Totals   EstimateTotals   `json:"totals"`
	Low      EstimateTotals   `json:"low"`
	High     EstimateTotals   `json:"high"`
	Promised time.Time        `json:"promised"` // zero: as before
	AddedAt  time.Time        `json:"added_at"`
	Answer   *ClientAnswer    `json:"-"`
}

// AddChangeOrder asks for more, at the tax of the approved estimate. Faults: COMMISSION_CANCELLED,
// COMMISSION_FINISHED, ESTIMATE_NOT_APPROVED, TOO_MANY_CHANGE_ORDERS, PROMISED_BEFORE_NOW and those of lines.
func (c *Commission) AddChangeOrder(lines []EstimateLine, promised time.Time, t CommissionTerms, w Writing) error {
	if err := c.isThere(); err != nil {
		return err
	}
	if c.State != Approved {
		return fault.New(fault.Precondition, "ESTIMATE_NOT_APPROVED", "The client has not approved the estimate of commission %d yet; revise the estimate instead.", c.Number)
	}
	if len(c.ChangeOrders) >= mostOrders {
		return fault.New(fault.Precondition, "TOO_MANY_CHANGE_ORDERS", "Commission %d has %d change orders, and no more are kept; finish or cancel it, and begin another for the rest.", c.Number, mostOrders)
	}
	lines, err := fillLines(lines, t, "lines")
	if err != nil {
		return err
	}
	if err := promisedLater(promised, w.Day, "promised"); err != nil {
		return err
	}
	tax, none := *c.Last().Draft.Tax, AmountOrPercent{}
	o := ChangeOrder{Number: int32(len(c.ChangeOrders)) + 1, State: OrderOpen, Reason: w.Reason, Lines: lines, Promised: promised, AddedAt: w.At,
		Totals: totalOf(lines, likeliest, none, tax), Low: totalOf(lines, fewest, none, tax), High: totalOf(lines, most, none, tax)}
	if o.High.Total > money.Max {
		return tooLarge("lines")
	}
	c.ChangeOrders = append(c.ChangeOrders, o)
	c.Version++
	return nil
}

// AnswerChangeOrder notes what the client said to one. Faults: COMMISSION_CANCELLED, CHANGE_ORDER_NOT_FOUND,
// CHANGE_ORDER_ANSWERED, ANSWER_BEFORE_ESTIMATE, DECLINED_WITHOUT_REASON.
func (c *Commission) AnswerChangeOrder(number int32, approve bool, a ClientAnswer) (ChangeOrder, error) {
	if err := c.isThere(); err != nil {
		return ChangeOrder{}, err
	}
	if int(number) > len(c.ChangeOrders) {
		return ChangeOrder{}, fault.New(fault.NotFound, "CHANGE_ORDER_NOT_FOUND", "Commission %d has no change order %d; look it up on the commission.", c.Number, number).At("number")
	}
	o := c.ChangeOrders[number-1]
	if o.State != OrderOpen {
		return o, fault.New(fault.Precondition, "CHANGE_ORDER_ANSWERED", "Change order %d was already answered by %s: %s.", number, o.Answer.By, o.State).At("number")
	}
	if err := a.after(o.AddedAt); err != nil {
		return o, err
	}
	if o.State = OrderApproved; !approve {
		o.State = OrderDeclined
		if err := a.hasReason(); err != nil {
			return o, err
		}
	}
	o.Answer = &a
	c.ChangeOrders[number-1] = o
	c.Version++
	return o, nil
}
