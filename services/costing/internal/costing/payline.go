package costing

import (
	"math/big"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// PayLine is what one person worked in one week, and what they get for it. Times are whole
// milliseconds.
type PayLine struct {
	Person     id.ID
	PersonName string
	Labour     time.Duration // on first passes
	Rework     time.Duration // on later ones
	Indirect   time.Duration // on what belongs to no piece
	Breaks     time.Duration // short pauses that are paid
	Rounding   time.Duration // what rounding the clock added; it may be below zero
	Late       time.Duration // what became known of locked weeks; it may be below zero
	Overtime   time.Duration // of the week's time, what is over the limits of the pay rule

	Pay         money.Amount // all that is due
	BreakPay    money.Amount // of it, for the paid breaks
	RoundingPay money.Amount // of it, for what rounding added
	Premium     money.Amount // of it, on top of straight time for the overtime
	LatePay     money.Amount // of it, what is late; weeks that were locked before it was told apart do not tell it
	Burden      money.Amount // what the employer pays on top of it

	// What the regular rate is made of: the week's pay without the premium, and its time. No time:
	// there is no such rate.
	RegularPay  money.Amount
	RegularTime time.Duration

	Unrated time.Time // the first calendar day of work for which no pay rate is known; zero: there is none
	Tangled string    // why the entries of the week cannot all be right, so that the pay rule counts as untangled says; empty: they can
}

// Time is all that is paid.
func (l PayLine) Time() time.Duration {
	return l.Labour + l.Rework + l.Indirect + l.Breaks + l.Rounding + l.Late
}

// Regular is the regular rate of the week in minor units an hour, exactly; false where no time is paid.
func (l PayLine) Regular() (*big.Rat, bool) {
	if l.RegularTime <= 0 {
		return nil, false
	}
	pay := new(big.Rat).SetInt64(int64(l.RegularPay))
	return pay.Mul(pay, big.NewRat(int64(time.Hour), int64(l.RegularTime))), true
}

// empty reports a line that says nothing: not even that something was worked and taken away again.
func (l PayLine) empty() bool {
	l.Person, l.PersonName = id.Nil, ""
	return l == PayLine{}
}
