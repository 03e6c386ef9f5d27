package planner

import (
	"math"
	"slices"
)

// Bound gives what no plan of a problem that leaves nothing out can be below, in each of its objectives: each piece as if it were
// alone with what is fixed, everybody and everything at its disposal within their calendars. It is a bound:
// that a plan is above it does not say that a better one exists. Faults: PROBLEM_MALFORMED.
func Bound(p *Problem) (Objective, error) {
	c, err := inSlots(p)
	if err != nil {
		return Objective{}, err
	}
	b := c.bounds()
	return Objective{b[Tardiness], b[Flow], p.Now + Minute(b[Makespan])}, nil
}

// bounds gives the least of each aim; of the makespan in minutes after now.
func (c *compiled) bounds() (least [4]float64) {
	for i, end := range c.earliestEnds() {
		p := &c.real.Pieces[i]
		if end == never {
			continue
		}
		end := c.minutes(int(end))
		least[Tardiness] += p.Weight * float64(max(0, end-p.Due))
		least[Flow] += p.Weight * float64(max(0, end-p.Release))
		least[Makespan] = max(least[Makespan], float64(end-c.origin))
	}
	return least
}

// never is the end of a piece of which nothing is done.
const never = math.MinInt32

// earliestEnds gives when each piece can be done if it is alone. What fits nowhere, and what waits for such,
// is in no plan.
func (c *compiled) earliestEnds() []int32 {
	f := newFloor(c)
	ends := make([]int32, len(c.Pieces))
	for i := range ends {
		ends[i] = never
	}
	lost := make([]bool, len(c.Operations))
	for _, op := range c.order {
		if !f.placed[op] {
			lost[op] = slices.ContainsFunc(c.in[op], func(l int) bool { return lost[c.Lags[l].From] })
			p, ok := f.fit(op, f.earliest(op))
			f.places[op] = p
			if lost[op] = lost[op] || !ok; lost[op] {
				continue
			}
		}
		piece := c.Operations[op].Piece
		ends[piece] = max(ends[piece], f.places[op].end)
	}
	return ends
}
