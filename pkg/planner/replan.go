package planner

import (
	"math/rand/v2"
	"sync"
)

// Replan makes a plan that people know fit a floor that changed: somebody is away, something began late, a piece
// came. What still can be as it was stays. For half of the time or of the iterations it looks for the fewest
// operations that begin within Keep (0: two days) and are moved, exactly as Moved counts them, windows that run before
// all else; for the rest it makes the plan better without moving these. The published plan
// is one of this problem's operations: Carry makes it of an older one's. Improved is told as by Improve, of the
// plan that moves least first. Faults: PROBLEM_MALFORMED.
func Replan(p *Problem, published *Plan, o Options, improved func(Improvement)) (*Plan, error) {
	if published == nil {
		return Improve(p, nil, o, improved)
	}
	o.Published = published
	calm, err := o.complete(p, published)
	if err != nil {
		return nil, err
	}
	if o.Keep == 0 {
		o.Keep = twoDays
	}
	calm.Soon = o.Keep
	calm.Budget, o.Budget = o.Budget.between(0, 0.5), o.Budget.between(0.5, 1)
	if o.Iterations > 0 {
		calm.Iterations = (o.Iterations + 1) / 2
		o.Iterations = max(1, o.Iterations-calm.Iterations)
	}
	c, err := inSlots(p, published)
	if err != nil {
		return nil, err
	}
	return Improve(p, calmest(c, calm), o, improved)
}

// calmest gives the plan that moves least of those that several menders come to.
func calmest(c *compiled, o Options) *Plan {
	s := &search{c: c, n: newNetwork(c), o: o}
	s.begin(o.Published)
	first := newMender(s)
	first.PCG = *rand.NewPCG(o.Seed, 0)
	first.start(s.first.places)
	menders := []*mender{first}
	for i := range o.Cores - 1 {
		m := first.clone()
		m.PCG = *rand.NewPCG(o.Seed, uint64(i+1))
		menders = append(menders, m)
	}
	var all sync.WaitGroup
	for _, m := range menders {
		all.Go(func() { m.walk(o) })
	}
	all.Wait()
	best := first
	for _, m := range menders[1:] {
		if m.bestToll.less(best.bestToll) {
			best = m
		}
	}
	return s.plan(best.best)
}

// between is a part of a budget.
func (b Budget) between(from, to float64) Budget {
	if b == nil {
		return nil
	}
	return func() float64 { return (b() - from) / (to - from) }
}
