package costing

import "time"

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
