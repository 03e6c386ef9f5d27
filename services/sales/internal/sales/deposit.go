package sales

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// DepositState is what a deposit is now.
type DepositState string

// The states of a deposit; the last three say what took the last of it.
const (
	DepositHeld     DepositState = "held"
	DepositToReturn DepositState = "to_return" // owed: its hold lapsed, and so it was agreed
	DepositUsed     DepositState = "used"      // by the sale
	DepositReturned DepositState = "returned"
	DepositKept     DepositState = "kept"
)

// Deposit is money that somebody gave before the sale of a piece. It is owed until it is used, returned or kept: these and what is
// left are its amount.
type Deposit struct {
	ID                   id.ID
	Piece                id.ID
	Tag                  int32
	Hold                 id.ID // Nil: a client's, on their own piece
	State                DepositState
	From                 string
	Amount               money.Amount // above zero
	Method               string       // cash, card, transfer, check, other
	TakenAt              time.Time
	Used, Returned, Kept money.Amount
	Ended                money.Amount // what the end of its hold just kept or gave back; not kept with it
}

// Left is what is held of it.
func (d Deposit) Left() money.Amount { return d.Amount - d.Used - d.Returned - d.Kept }

// Give takes a deposit on the piece: on a stock piece of its open hold, whose rule of a lapse the first one brings; on a client's own
// piece without one. Before are those of the same hold. Faults: DEPOSIT_ZERO, PIECE_SCRAPPED, PIECE_SOLD, TIME_BEFORE_INTAKE, DEPOSIT_NEEDS_HOLD,
// LAPSE_RULE_UNSAID, DEPOSIT_ABOVE_PRICE.
func (l *Listing) Give(p Piece, d Deposit, rule LapseRule, before []Deposit) (Deposit, error) {
	if d.Amount == 0 {
		return d, fault.New(fault.Invalid, "DEPOSIT_ZERO", "A deposit is above zero; say how much was given.").At("deposit.amount")
	}
	if err := l.sellable(p, d.TakenAt, "take_time"); err != nil {
		return d, err
	}
	if !p.Commission {
		if err := l.giveForHold(&d, rule, before); err != nil {
			return d, err
		}
	}
	d.State, d.Piece, d.Tag = DepositHeld, l.Piece, l.Tag
	l.Version++
	return d, nil
}

func (l *Listing) giveForHold(d *Deposit, rule LapseRule, before []Deposit) error {
	if !l.IsHeld() {
		return fault.New(fault.Precondition, "DEPOSIT_NEEDS_HOLD",
			"Piece %d is held for nobody; hold it for the buyer, and take the deposit with that.", l.Tag).At("piece")
	}
	if l.Hold.Rule == NothingAgreed {
		l.Hold.Rule = rule
	}
	if l.Hold.Rule == NothingAgreed {
		return fault.New(fault.Invalid, "LAPSE_RULE_UNSAID",
			"Say what becomes of the deposit if the hold lapses: whether it is given back or kept.").At("lapse_rule")
	}
	if l.Hold.Price > 0 && d.Amount+Left(before) > l.Hold.Price {
		return fault.New(fault.Precondition, "DEPOSIT_ABOVE_PRICE", "Together the deposits would be more than the agreed price; take less, or sell the piece.").At("deposit.amount")
	}
	d.Hold = l.Hold.ID
	return nil
}

// Left is what is held of several deposits together.
func Left(all []Deposit) (sum money.Amount) {
	for _, d := range all {
		sum += d.Left()
	}
	return sum
}

// Return gives back a part of the deposit; zero: all that is left. It says how much that is. Faults: DEPOSIT_ABOVE_HELD,
// RETURN_BEFORE_DEPOSIT.
func (l *Listing) Return(d *Deposit, part money.Amount, at time.Time) (money.Amount, error) {
	part, err := d.part(part, at)
	if err != nil {
		return 0, err
	}
	d.Returned += part
	d.took(DepositReturned)
	l.Version++
	return part, nil
}

// Retain keeps a part of the deposit, of whoever stepped back; zero: all that is left. It says how much that is. Faults: HOLD_OPEN,
// DEPOSIT_ABOVE_HELD, RETURN_BEFORE_DEPOSIT.
func (l *Listing) Retain(d *Deposit, part money.Amount, at time.Time) (money.Amount, error) {
	if d.Hold != id.Nil && d.Hold == l.Hold.ID {
		return 0, fault.New(fault.Precondition, "HOLD_OPEN",
			"Piece %d is still held for whoever gave this deposit; release the hold, and say that the deposit is kept.", l.Tag).At("deposit")
	}
	part, err := d.part(part, at)
	if err != nil {
		return 0, err
	}
	d.Kept += part
	d.took(DepositKept)
	l.Version++
	return part, nil
}

// part is what of the deposit goes.
func (d *Deposit) part(part money.Amount, at time.Time) (money.Amount, error) {
	switch {
	case part > d.Left() || d.Left() == 0:
		return 0, fault.New(fault.Precondition, "DEPOSIT_ABOVE_HELD", "So much is not held of this deposit any more; look up what is left of it.").At("amount")
	case at.Before(d.TakenAt.Truncate(time.Minute)): // people write times to the minute
		return 0, fault.New(fault.Invalid, "RETURN_BEFORE_DEPOSIT", "This is dated before the deposit was given; check its time.")
	case part == 0:
		return d.Left(), nil
	}
	return part, nil
}

// took notes what took the last of it, if nothing is left.
func (d *Deposit) took(how DepositState) {
	if d.Left() == 0 {
		d.State = how
	}
}

// EndDeposits settles what is held of an ended hold's deposits by a rule: it is kept, or owed; owed is given back at once where
// somebody is there to do so. It says which of them changed.
func (l *Listing) EndDeposits(all []Deposit, rule LapseRule, atOnce bool) (changed []Deposit) {
	for _, d := range all {
		left := d.Left()
		switch {
		case left == 0:
			continue
		case rule == Kept:
			d.Kept, d.Ended = d.Kept+left, left
			d.took(DepositKept)
		case atOnce:
			d.Returned, d.Ended = d.Returned+left, left
			d.took(DepositReturned)
		default:
			d.State = DepositToReturn
		}
		changed = append(changed, d)
	}
	return changed
}

// UseDeposits makes deposits a part of the sale: what is to pay is the rest of price and tax. Fault: DEPOSIT_ABOVE_PRICE.
func (s *Sale) UseDeposits(held []Deposit) (used []Deposit, err error) {
	sum := Left(held)
	if sum > s.Price+s.Tax {
		return nil, fault.New(fault.Precondition, "DEPOSIT_ABOVE_PRICE",
			"More was given as a deposit than price and tax of the piece come to; give back what is too much, then sell.").At("price")
	}
	s.Deposit = sum
	for _, d := range held {
		if left := d.Left(); left > 0 {
			d.Used += left
			d.took(DepositUsed)
			used = append(used, d)
		}
	}
	return used, nil
}

// ErrNoDeposit is the fault about a deposit that nobody gave.
var ErrNoDeposit = fault.New(fault.NotFound, "DEPOSIT_NOT_FOUND", "There is no such deposit; shop deposit list has them.").At("deposit")
