package consume

import (
	"fmt"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// deposit books what somebody gave before a sale. Of one piece all of that comes in its order, for sales tells it with the piece's sales;
// so what is used, given back or kept of a deposit was booked as given before.
func (b *batch) deposit(f costing.Fact, e *eventsv1.DepositTaken) error {
	amount, err := b.amount("the deposit", e.GetAmount())
	if err != nil {
		return err
	}
	b.Deposit(f, amount)
	return nil
}

// depositSettled books what was given back or kept of a deposit.
func (b *batch) depositSettled(f costing.Fact, e *eventsv1.DepositSettled) error {
	amount, err := b.amount("the deposit", e.GetAmount())
	switch how := e.GetHow(); {
	case err != nil:
		return err
	case how != eventsv1.DepositSettled_HOW_RETURNED && how != eventsv1.DepositSettled_HOW_KEPT:
		return fmt.Errorf("what became of the deposit is not said, or in a word that is newer than this version: %v", how)
	default:
		b.SettleDeposit(f, amount, how == eventsv1.DepositSettled_HOW_KEPT)
		return nil
	}
}
