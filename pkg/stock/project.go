package stock

import (
	"cmp"
	"math"
	"slices"
)

// Need is what a planned stage takes, on a day from now; on day 0 or before it is due already.
type Need struct {
	Day    float64
	Amount float64
	Stage  string // what it is of, as the caller names it
}

// Arrival is what is on order and when it is expected, in days from now.
type Arrival struct{ Day, Amount float64 }

// State is a product as it is now.
type State struct {
	OnHand   float64
	Needs    []Need
	Arrivals []Arrival
	Use      Spread // a day, beside what the needs are
	Lead     Spread // of an order that goes out now, in days
}

// at is what is expected to be there at the end of a day, without another order.
func (s State) at(day float64) float64 {
	left := s.OnHand - s.Use.Mean*day + s.comeBy(day)
	for _, n := range s.Needs {
		if n.Day <= day {
			left -= n.Amount
		}
	}
	return left
}

// Halt is a planned stage that would stand still, and how much it would lack.
type Halt struct {
	Need
	Lacks float64
}

// StandsStill finds the first planned stage for which there will not be enough, if nothing more
// is ordered, as far as is expected: what is used beside the plan is taken at its mean. What
// comes on the day of a stage comes in time for it.
func (s State) StandsStill() (Halt, bool) {
	needs := slices.SortedStableFunc(slices.Values(s.Needs), func(a, b Need) int { return cmp.Compare(a.Day, b.Day) })
	left := s.OnHand
	for _, n := range needs {
		day := max(n.Day, 0)
		left -= n.Amount
		there := left - s.Use.Mean*day + s.comeBy(day)
		if there < -trace {
			return Halt{n, math.Min(n.Amount, -there)}, true
		}
	}
	return Halt{}, false
}

// trace is how little does not count: sums of floating point are off by less.
const trace = 1e-9

func (s State) comeBy(day float64) (come float64) {
	for _, a := range s.Arrivals {
		if a.Day <= day {
			come += a.Amount
		}
	}
	return come
}

// turns are the days up to one at which what is expected to be there is looked at: each whole
// one, each of a need, and just before each arrival.
func (s State) turns(until float64) []float64 {
	days := []float64{until}
	for day := range int(until) + 1 {
		days = append(days, float64(day))
	}
	for _, n := range s.Needs {
		days = append(days, max(n.Day, 0))
	}
	for _, a := range s.Arrivals {
		days = append(days, math.Nextafter(a.Day, 0))
	}
	days = slices.DeleteFunc(days, func(d float64) bool { return d < 0 || d > until })
	slices.Sort(days)
	return slices.Compact(days)
}
