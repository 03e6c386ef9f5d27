package costing

import (
	"maps"
	"time"

	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// Standing is how what accounts come to at an instant is found. In an open month that is all that
// happened before, whenever it became known. In closed months it is what their closes have counted,
// by the day: what becomes known later counts as of the first instant after the last of them. So no
// day of a closed month changes any more.
type Standing struct {
	At      time.Time // for which it is: in a closed month the beginning of the day
	Open    bool      // all that happened before At, and nothing else
	Counted Figures   // else: by closes of months that are over, and late of the one below
	Of      *Close    // of whose days those before one count too; nil: of none
	Before  time.Time // that calendar day
}

// StandingAt says it of the closes that are in force, in their order.
func StandingAt(closes []Close, at time.Time, zone *time.Location) Standing {
	s := Standing{At: at, Counted: Figures{}}
	n := len(closes)
	if s.Open = n == 0 || at.After(closes[n-1].Month.To); s.Open {
		return s
	}
	for i := range closes {
		if c := closes[i]; c.Month.To.After(at) {
			s.Of, s.Before = &closes[i], dayIn(at, zone)
			s.At = midnight(s.Before, 0, zone)
			if s.Before.After(c.Since) {
				s.Counted.add(c.Late, 1)
			}
			return s
		}
		s.Counted.add(closes[i].Counted, 1)
	}
	return s
}

// SoFar is what the lines of a calendar day on an account that were recorded at one instant come to, in all and
// up to an instant of the day.
type SoFar struct {
	RecordedAt  time.Time
	Account     Account
	Day, Before money.Amount
}

// Within moves it from the beginning of a day of a closed month to an instant of it. A close has counted
// whole days: counted is what it counted of this one. Which lines of the ledger it had then no clock is
// trusted to say alone; but lines that come to just what was counted, on every account, are those lines, and
// what of them is before the instant was counted before it. So the day's lines are gone through in the order in
// which they were recorded, and it is moved if up to some point they are what was counted: the last such point
// until the close was made, or the first after it.
func (s *Standing) Within(at time.Time, counted []ledger.Balance, lines []SoFar) {
	before, told := s.Of.counted(counted, lines)
	if !told {
		return
	}
	if !s.Before.After(s.Of.Since) {
		s.Counted.add(s.Of.Late, 1) // it counts with the first instant of the close's own days
	}
	s.At = at
	s.Counted.add(before, 1)
}

// counted finds what lines that the close has counted come to before an instant; false: it cannot be told.
func (c *Close) counted(counted []ledger.Balance, lines []SoFar) (before []ledger.Balance, told bool) {
	want, day, soFar := settled(counted), Figures{}, Figures{}
	told = len(want) == 0
	for i, l := range lines {
		day[l.Account] += l.Day
		soFar[l.Account] += l.Before
		if i+1 < len(lines) && lines[i+1].RecordedAt.Equal(l.RecordedAt) {
			continue
		}
		if maps.Equal(settled(day.Balances()), want) && (!told || !l.RecordedAt.After(c.At)) {
			before, told = soFar.Balances(), true
		}
	}
	return before, told
}

// settled are balances without accounts that come to nothing.
func settled(balances []ledger.Balance) Figures {
	f := Figures{}.With(balances)
	maps.DeleteFunc(f, func(_ Account, amount money.Amount) bool { return amount == 0 })
	return f
}
