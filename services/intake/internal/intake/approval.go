package intake

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Approve notes that the client agrees to a version, on a day of the shop. Faults: COMMISSION_CANCELLED,
// ESTIMATE_APPROVED, ESTIMATE_DECLINED, VERSION_SUPERSEDED, VERSION_UNKNOWN, ANSWER_BEFORE_ESTIMATE,
// ESTIMATE_EXPIRED.
func (c *Commission) Approve(version int32, a ClientAnswer, day time.Time) error {
	if err := c.answerable(version, a); err != nil {
		return err
	}
	if until := c.Last().Draft.ValidUntil; day.After(until) {
		return fault.New(fault.Precondition, "ESTIMATE_EXPIRED", "Version %d of the estimate held until %s; revise it, and ask the client again.",
			version, until.Format(time.DateOnly)).At("answer.time")
	}
	c.answer(Approved, a)
	c.Approved = version
	return nil
}

// Decline notes that the client does not agree. Faults: DECLINED_WITHOUT_REASON, and as Approve, but for ESTIMATE_EXPIRED.
func (c *Commission) Decline(version int32, a ClientAnswer) error {
	if err := c.answerable(version, a); err != nil {
		return err
	}
	if err := a.hasReason(); err != nil {
		return err
	}
	c.answer(Declined, a)
	return nil
}

func (c *Commission) answer(as CommissionState, a ClientAnswer) {
	last := c.Last()
	last.Answer = &a
	c.Estimates = append(c.Estimates[:len(c.Estimates)-1:len(c.Estimates)-1], last)
	c.State = as
	c.Version++
}

func (c Commission) answerable(version int32, a ClientAnswer) error {
	if err := c.isOpen(); err != nil {
		return err
	}
	last := c.Last()
	switch {
	case version < last.Number:
		return fault.New(fault.Precondition, "VERSION_SUPERSEDED", "Version %d of the estimate was superseded by version %d; show the client that one.", version, last.Number).At("version")
	case version > last.Number:
		return fault.New(fault.NotFound, "VERSION_UNKNOWN", "There is no version %d of the estimate; the newest is %d.", version, last.Number).At("version")
	case c.State == Declined:
		return fault.New(fault.Precondition, "ESTIMATE_DECLINED", "The client already declined version %d; revise the estimate, and ask again.", version).At("version")
	}
	return a.after(last.DraftedAt)
}

// after refuses an answer to what was not yet written. People type minutes.
func (a ClientAnswer) after(written time.Time) error {
	if a.At.Before(written.Truncate(time.Minute)) {
		return fault.New(fault.Invalid, "ANSWER_BEFORE_ESTIMATE", "It was only written on %s, and nobody can have answered it before; check the time.",
			written.Format("2006-01-02 15:04 MST")).At("answer.time")
	}
	return nil
}

func (a ClientAnswer) hasReason() error {
	if a.Reason == "" {
		return fault.New(fault.Invalid, "DECLINED_WITHOUT_REASON", "Say why the client declined; the next version goes by it.").At("answer.reason")
	}
	return nil
}

// Agreed is what the client approved, the estimate and the change orders together; false: nothing was.
func (c Commission) Agreed() (t EstimateTotals, is bool) {
	if c.Approved == 0 {
		return t, false
	}
	t = c.Last().Totals
	for _, o := range c.ChangeOrders {
		if o.State == OrderApproved {
			t = t.plus(o.Totals)
		}
	}
	return t, true
}

// Promised is the last day that was agreed on; zero: none was.
func (c Commission) Promised() (day time.Time) {
	if c.Approved == 0 {
		return day
	}
	day = c.Last().Draft.Promised
	for _, o := range c.ChangeOrders {
		if o.State == OrderApproved && !o.Promised.IsZero() {
			day = o.Promised
		}
	}
	return day
}

// Invoice is what the client is to be asked for: what was agreed on, or what is owed of a cancelled commission; false:
// nothing was approved.
func (c Commission) Invoice() (price, tax money.Amount, is bool) {
	agreed, is := c.Agreed()
	if s := c.Settlement; s != nil {
		return s.Owed - s.OwedTax, s.OwedTax, is
	}
	return agreed.Total - agreed.Tax, agreed.Tax, is
}
