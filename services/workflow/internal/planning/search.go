package planning

import (
	"tackfree/pkg/planner"
)

// Search is how long a better plan is looked for.
type Search struct {
	Seed uint64
	// Budget ends it; nil: a fixed number of changes is tried, so that the same facts give the same plan.
	Budget   planner.Budget
	Improved func(Progress) // told of each better plan; nil: nobody is
}

// Progress is how far a search is.
type Progress struct {
	Tries int
	Cost  Cost
	Least Cost // no plan whatever costs less
}

const (
	walks = 2 // also where there are more cores: the same plan on every machine
	// mostAtOnce is how many changes each walk tries at most where everybody waits for the plan. The largest of them put
	// in anew all that is left to do, which takes time with the square of it: in about a tenth of a second atOnce
	// operations by operations are looked at.
	mostAtOnce = 150
	atOnce     = 8_000_000
)

// tries is how many changes each walk tries at once.
func (m *maker) tries() int {
	n := len(m.p.Operations)
	return min(mostAtOnce, atOnce/max(1, n*n))
}

// search makes a plan better: near to what was published, or else the one that it is begun with.
func (m *maker) search(placed *planner.Plan, how Search) (*planner.Plan, error) {
	o := planner.Options{Seed: how.Seed, Cores: walks, Budget: how.Budget, Published: m.known()}
	if how.Budget == nil {
		if o.Iterations = m.tries(); o.Iterations < 2 && o.Published == nil {
			return placed, nil
		}
		o.Iterations = max(2, o.Iterations)
	}
	improved, err := m.watch(how)
	if err != nil {
		return nil, err
	}
	if o.Published != nil {
		m.heed(o.Published)
	}
	switch {
	case how.Budget != nil:
		return m.steady(placed, o, improved)
	case o.Published != nil:
		return planner.Replan(&m.p, o.Published, o, improved)
	}
	return planner.Improve(&m.p, placed, o, improved)
}

// sure is the part of a budget after which a plan is no longer made cheaper, but such that it keeps its promises when
// times fall by chance.
const sure = 0.7

// steady looks for a plan from what people know, and then puts buffers before promises where they help.
func (m *maker) steady(placed *planner.Plan, o planner.Options, improved func(planner.Improvement)) (*planner.Plan, error) {
	whole := o.Budget
	if o.Published != nil {
		placed = o.Published
	}
	o.Budget = func() float64 { return whole() / sure }
	tries := 0
	tell := func(before int) func(planner.Improvement) {
		return func(i planner.Improvement) {
			i.Iterations += before
			if tries = i.Iterations; improved != nil {
				improved(i)
			}
		}
	}
	plan, err := planner.Improve(&m.p, placed, o, tell(0))
	if err != nil {
		return nil, err
	}
	o.Budget = func() float64 { return (whole() - sure) / (1 - sure) }
	return planner.Steady(&m.p, plan, m.doubt, o, tell(tries))
}

// beside puts what is new into a plan: with the least that moves of it, or so that promises are kept.
func (m *maker) beside(now *planner.Plan, still bool) (*planner.Plan, error) {
	o := planner.Options{Seed: Seed, Cores: walks, Iterations: max(2, m.tries())}
	if still {
		o.Published, o.Soon, o.Aims = now, m.p.Horizon, []planner.Aim{planner.Changes, planner.Tardiness, planner.Flow}
	}
	return planner.Improve(&m.p, now, o, nil)
}

// watch makes what the planner tells into what is told of a search.
func (m *maker) watch(how Search) (func(planner.Improvement), error) {
	if how.Improved == nil {
		return nil, nil
	}
	least, err := planner.Bound(&m.p)
	if err != nil {
		return nil, err
	}
	bound := Cost{Late: least.Tardiness / perHour, Waiting: least.Flow / perHour}
	return func(i planner.Improvement) { how.Improved(Progress{i.Iterations, m.cost(i.Plan), bound}) }, nil
}
