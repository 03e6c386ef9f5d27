package costing

import (
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Sums are the lines of a cost sheet.
type Sums struct {
	Acquisition money.Amount
	Labour      money.Amount // pay of first passes
	Premium     money.Amount // of overtime, likewise
	Burden      money.Amount // employer's taxes and insurance on both
	Overhead    money.Amount // applied to first passes
	Material    money.Amount // of first passes, less what came back
	Outside     money.Amount // what others billed for first passes
	Rework      money.Amount // all of the former of later passes
	Fees        money.Amount
	Revenue     money.Amount
	Tax         money.Amount // collected, not earned
	LabourTime  time.Duration
	ReworkTime  time.Duration
}

// add counts a ledger line. Earnings are credits, so their sign turns.
func (s *Sums) add(l Line) {
	switch l.Bucket {
	case Acquisition:
		s.Acquisition += l.Amount
	case Labour:
		s.Labour += l.Amount
	case Premium:
		s.Premium += l.Amount
	case OnPay:
		s.Burden += l.Amount
	case Overhead:
		s.Overhead += l.Amount
	case Material:
		s.Material += l.Amount
	case Outside:
		s.Outside += l.Amount
	case Rework:
		s.Rework += l.Amount
	case Fees:
		s.Fees += l.Amount
	case Earned:
		s.Revenue -= l.Amount
	case Tax:
		s.Tax -= l.Amount
	}
}

// Cost is everything spent on the piece.
func (s Sums) Cost() money.Amount {
	return s.Acquisition + s.Labour + s.Premium + s.Burden + s.Overhead + s.Material + s.Outside + s.Rework
}

// Profit is what is left of the revenue.
func (s Sums) Profit() money.Amount { return s.Revenue - s.Fees - s.Cost() }

// PerLabourHour is the profit for each hands-on hour, rework included, rounded once; false
// before the first minute, for of seconds it says nothing.
func (s Sums) PerLabourHour() (money.Amount, bool) {
	return perHour(s.Profit(), s.LabourTime+s.ReworkTime)
}

func perHour(profit money.Amount, worked time.Duration) (money.Amount, bool) {
	if worked < time.Minute {
		return 0, false
	}
	return money.MulDiv(profit, millisPerHour, worked.Milliseconds()), true
}

// Sheet is the cost sheet of one piece.
type Sheet struct {
	Sums
	Origin
	Piece     id.ID
	Sales     SalesState
	Channel   string
	SoldAt    time.Time // zero: it is not sold
	Finish    string
	Scrapped  bool
	GivenUpAt time.Time // zero: it was not, or that was not asked
	Running   int32     // clocks; of one person several may run
	AtWork    int64     // people on the clock, of those whose clock is known
	Out       []OutsideWork
	Revision  int64
	UpdatedAt time.Time
	Work      []Work
	Unrated   []Unrated  // work that has no cost yet
	Weeks     []OpenWeek // in which it has hours whose overtime may still change
	Refused   int64      // events that could not be booked
	Waiting   int64      // events that wait for an earlier one
}

// Unrated is work of a person from before their first pay rate.
type Unrated struct {
	PersonName string
	Since      time.Time
}

// Work is the labour of one person on one stage of a piece, rework apart.
type Work struct {
	Person     id.ID
	PersonName string
	Stage      id.ID
	StageKind  string
	StageKey   string // empty if no event told it
	PartLabel  string
	Rework     bool
	Time       time.Duration
	Cost       money.Amount
}
