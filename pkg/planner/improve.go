package planner

import "runtime"

// Budget tells how much of the time for a search is gone: 0 at the beginning, 1 or more when it is over.
// Several goroutines ask it at once.
type Budget func() float64

// Options say how a plan is made better.
type Options struct {
	Seed  uint64
	Cores int // walks at a time; 0: one for each core
	// Iterations is how many changes each walk tries; the same seed, cores and iterations give the same plan.
	// 0: as many as the budget lets.
	Iterations int
	// Budget ends the search, after Iterations at the latest if these are set; nil: it does not.
	Budget Budget
	// Aims are what the plan should be small in, the first first; nil: Tardiness, Flow, Changes.
	Aims []Aim
	// Published is the plan that people know, from which Changes count; nil: nobody knows any.
	Published *Plan
	// Soon is until when (minutes after now) changes against it count; 0: two days.
	Soon int
	// Keep is until when (minutes after now) what begins in the plan at the start stays as it is there.
	Keep int
}

// Improvement is a better plan than all before it.
type Improvement struct {
	Plan       *Plan
	Iterations int // of all walks until the last of twelve parts of the way
}

const (
	twoDays    = 2 * 24 * 60
	withoutEnd = 5_000 // iterations where nobody said how long
)

// Improve makes a plan better by ruin and recreate with annealing, several walks at a time that tell each other
// of the best. start may be nil; one that the problem does not allow any more is mended first. The plan is
// never worse, aim by aim, than a start that is allowed and leaves nothing out; of one that leaves something out it
// leaves out nothing else, and less where places are found. When the budget ends, it is the best so far. Improved,
// which may be nil, is told of the plan at the start and of better ones, one after the other. Faults:
// PROBLEM_MALFORMED.
func Improve(p *Problem, start *Plan, o Options, improved func(Improvement)) (*Plan, error) {
	o, err := o.complete(p, start)
	if err != nil {
		return nil, err
	}
	c, err := inSlots(p, start, o.Published)
	if err != nil {
		return nil, err
	}
	s := &search{c: c, n: newNetwork(c), o: o, improved: improved, seeks: true}
	s.begin(start)
	s.run()
	return s.plan(s.best), nil
}

// complete fills in what options leave open.
func (o Options) complete(p *Problem, start *Plan) (Options, error) {
	for _, plan := range []*Plan{start, o.Published} {
		if plan != nil && len(plan.Slots) != len(p.Operations) {
			return o, malformed("A plan of %d operations is none of a problem of %d.", len(plan.Slots), len(p.Operations))
		}
	}
	if o.Cores <= 0 {
		o.Cores = runtime.GOMAXPROCS(0)
	}
	if len(o.Aims) == 0 {
		o.Aims = []Aim{Tardiness, Flow, Changes}
	}
	if o.Iterations == 0 && o.Budget == nil {
		o.Iterations = withoutEnd
	}
	if o.Soon == 0 {
		o.Soon = twoDays
	}
	return o, nil
}
