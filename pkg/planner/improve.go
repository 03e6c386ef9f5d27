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
// never worse, aim by aim, than a start that is allowed; when the budget ends, it is the best so far. Improved,
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
	s := &search{c: c, n: newNetwork(c), o: o, improved: improved}
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

// Replan makes a plan that people know fit a floor that changed: somebody is away, something began late, a piece
// came. It keeps what still can be as it was and puts in anew what cannot. For half of the time or of the
// iterations it looks for the fewest changes among what begins within Soon; for the rest it makes the plan
// better without moving what begins within Keep (0: two days). The published plan is one of this problem's
// operations: Carry makes it of an older one's. Faults: PROBLEM_MALFORMED.
func Replan(p *Problem, published *Plan, o Options, improved func(Improvement)) (*Plan, error) {
	calm := o
	calm.Published, calm.Keep, calm.Aims, calm.Iterations = published, 0, []Aim{Changes, Tardiness}, (o.Iterations+1)/2
	if o.Iterations > 0 {
		o.Iterations = max(1, o.Iterations-calm.Iterations)
	}
	calm.Budget = o.Budget.between(0, 0.5)
	plan, err := Improve(p, published, calm, improved)
	if err != nil {
		return nil, err
	}
	o.Published, o.Budget = published, o.Budget.between(0.5, 1)
	if o.Keep == 0 {
		o.Keep = twoDays
	}
	return Improve(p, plan, o, improved)
}

// between is a part of a budget.
func (b Budget) between(from, to float64) Budget {
	if b == nil {
		return nil
	}
	return func() float64 { return (b() - from) / (to - from) }
}

// Carry makes a plan of one problem one of another that is about the same floor, later: operations, workers
// and stations are the same by their ids, and the other's minute 0 is so many minutes after that of the first.
// Operations that the plan says nothing of are left out of it, to be put in.
func Carry(plan *Plan, from, to *Problem, later Minute) *Plan {
	op, worker, station := map[string]int{}, map[string]int{}, map[string]int{}
	for i := range from.Operations {
		op[from.Operations[i].ID] = i
	}
	for i := range to.Workers {
		worker[to.Workers[i].ID] = i
	}
	for i := range to.Stations {
		station[to.Stations[i].ID] = i
	}
	out, left := &Plan{Slots: make([]Slot, len(to.Operations))}, plan.leaves()
	for i := range to.Operations {
		old, known := op[to.Operations[i].ID]
		if !known || left[old] {
			out.Left = append(out.Left, Unplaced{i, AfterHorizon})
			continue
		}
		was := plan.Slots[old]
		s := Slot{NoWorker, NoStation, was.Start - later, was.End - later}
		ok := true
		if was.Worker != NoWorker {
			s.Worker, ok = worker[from.Workers[was.Worker].ID]
		}
		if was.Station != NoStation && ok {
			s.Station, ok = station[from.Stations[was.Station].ID]
		}
		if !ok {
			out.Left = append(out.Left, Unplaced{i, AfterHorizon})
			continue
		}
		out.Slots[i] = s
	}
	return out
}

// leaves tells which operations a plan leaves out.
func (p *Plan) leaves() map[int]bool {
	left := map[int]bool{}
	for _, u := range p.Left {
		left[u.Operation] = true
	}
	return left
}

// Moved counts the operations that begin in the first plan within so many minutes after now, and of them those
// that the second has at another time or at other hands. What is fixed does not count.
func Moved(p *Problem, first, second *Plan, within int) (moved, of int) {
	fixed := map[int]bool{}
	for _, f := range p.Fixed {
		fixed[f.Operation] = true
	}
	left, gone := first.leaves(), second.leaves()
	for op, was := range first.Slots {
		if left[op] || fixed[op] || was.Start < p.Now || was.Start >= p.Now+within {
			continue
		}
		of++
		if is := second.Slots[op]; gone[op] || is.Start != was.Start || is.Worker != was.Worker {
			moved++
		}
	}
	return moved, of
}
