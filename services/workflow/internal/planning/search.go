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

// search gives the plan that is shown at once, or where there is time looks for a better one.
func (m *maker) search(placed *planner.Plan, how Search) (*planner.Plan, error) {
	o := planner.Options{Seed: how.Seed, Cores: walks, Published: m.known()}
	if o.Published != nil {
		m.heed(o.Published)
		m.marks(o.Published)
		o.Aims, o.Soon = loyal, m.soon()
	}
	improved, err := m.watch(how)
	if err != nil {
		return nil, err
	}
	shown, err := m.atOnce(placed, o, improved)
	if err != nil || how.Budget == nil {
		return shown, err
	}
	o.Budget = how.Budget
	return m.better(shown, o, improved)
}

// loyal are the aims where people know a plan: what they know is moved to keep promises, and not for work to wait less.
var loyal = []planner.Aim{planner.Tardiness, planner.Changes, planner.Flow}

// atOnce is the plan that is shown: what was published for as long as it can be kept, and else near to it, also after
// the days that it promised people; where nothing was, the one that it is begun with, made a little better.
func (m *maker) atOnce(placed *planner.Plan, o planner.Options, improved func(planner.Improvement)) (*planner.Plan, error) {
	o.Iterations = max(2, m.tries())
	switch {
	case o.Published == nil && m.tries() < 2:
		return placed, nil
	case o.Published == nil:
		return planner.Improve(&m.p, placed, o, improved)
	case m.stands(o.Published):
		return o.Published, nil
	}
	o.Keep, o.Soon = o.Soon, m.p.Horizon
	return planner.Replan(&m.p, o.Published, o, improved)
}

// stands tells whether what people know can be done as it is, and says where all is that can have a place.
func (m *maker) stands(known *planner.Plan) bool {
	for _, u := range known.Left {
		if u.Operation >= len(m.jobs) || len(m.p.Operations[u.Operation].Modes) > 0 {
			return false
		}
	}
	known.Objective = m.p.Objective(known)
	return planner.Validate(&m.p, known) == nil
}

// sure is the part of a budget after which a plan is no longer made cheaper, but such that it keeps its promises when
// times fall by chance.
const sure = 0.7

// better makes a plan cheaper, and then puts buffers before promises where they help. What keeps promises no better when
// it is played is left.
func (m *maker) better(shown *planner.Plan, o planner.Options, improved func(planner.Improvement)) (*planner.Plan, error) {
	whole, tries := o.Budget, 0
	o.Budget = func() float64 { return whole() / sure }
	tell := func(before int) func(planner.Improvement) {
		return func(i planner.Improvement) {
			i.Iterations += before
			if tries = i.Iterations; improved != nil {
				improved(i)
			}
		}
	}
	plan, err := planner.Improve(&m.p, shown, o, tell(0))
	if err != nil {
		return nil, err
	}
	if plan, err = m.steadier(shown, plan, 1+worth); err != nil {
		return nil, err
	}
	o.Budget = func() float64 { return (whole() - sure) / (1 - sure) }
	steady, err := planner.Steady(&m.p, plan, m.doubt, o, tell(tries))
	if err != nil {
		return nil, err
	}
	return m.steadier(plan, steady, 1-worth)
}

// worth is the share of its lateness, when it is played, by which a plan has to be better for people to learn another
// (common practice: chance moves it by as much).
const worth = 0.02

// steadier gives the second of two plans if it leaves no more out and is late, when it is played, by no more than so
// many times as much as the first.
func (m *maker) steadier(first, second *planner.Plan, times float64) (*planner.Plan, error) {
	if len(second.Left) != len(first.Left) {
		if len(second.Left) < len(first.Left) {
			return second, nil
		}
		return first, nil
	}
	one, err := m.played(first)
	if err != nil {
		return nil, err
	}
	other, err := m.played(second)
	if err != nil || other > times*one {
		return first, err
	}
	return second, nil
}

// played is how late a plan is on average when it is played, in minutes times weights.
func (m *maker) played(plan *planner.Plan) (sum float64, err error) {
	all, err := planner.Simulate(&m.p, plan, m.doubt, Runs, Seed)
	for _, o := range all {
		sum += o.Tardiness
	}
	return sum, err
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
