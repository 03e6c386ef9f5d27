package jobshop

import (
	"runtime"
	"sync"
	"sync/atomic"

	"tackfree/pkg/fault"
)

// Objective is what is to be as small as can be.
type Objective int

// The objectives.
const (
	Makespan          Objective = iota // when all is done
	WeightedTardiness                  // the sum over jobs of weight times what they end after they are due
)

// Options say how to search.
type Options struct {
	Seed       uint64
	Objective  Objective
	Cores      int   // islands, each on a core; 0: as many as the machine has
	Iterations int64 // moves of each island; 0: until stopped
	Target     int64 // when the objective is no more than this, it is enough; 0: only a proof is
}

// Improvement is a schedule better than all before.
type Improvement struct {
	Objective  int64
	Bound      int64 // no schedule is better than this
	Iterations int64 // moves of each island up to now
	Schedule   Schedule
}

// Result is the best schedule found, and how good the best could be.
type Result struct {
	Schedule   Schedule
	Makespan   int
	Tardiness  int64 // weighted
	Objective  int64 // the one of these that was asked for
	Bound      int64 // no schedule is better than this
	Proven     bool  // none is better than this one
	Iterations int64 // moves of each island
}

// Stop tells when it is time to stop; a context does.
type Stop interface{ Done() <-chan struct{} }

// Solve searches for the best schedule until it is proven, the iterations are made, the target is reached or it is
// stopped, whichever is first, and tells each improvement as it comes, the first at once. A seed with so many
// iterations and cores gives the same schedule each time. Stop and improved may be nil; a search that
// nothing would end is refused.
func Solve(stop Stop, s *Shop, o Options, improved func(Improvement)) (*Result, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	if err := o.check(stop); err != nil {
		return nil, err
	}
	sv := newSolver(s, o, improved)
	return sv.run(stop)
}

func (o Options) check(stop Stop) error {
	if o.Objective != Makespan && o.Objective != WeightedTardiness {
		return fault.New(fault.Invalid, "UNKNOWN_OBJECTIVE", "objective %d is not known", o.Objective).At("objective")
	}
	if o.Cores < 0 || o.Cores > 1024 || o.Iterations < 0 || o.Target < 0 {
		return fault.New(fault.Invalid, "OPTIONS_OUT_OF_RANGE", "cores (at most 1024), iterations and target must be 0 or more").At("options")
	}
	if o.Iterations == 0 && (stop == nil || stop.Done() == nil) {
		return fault.New(fault.Invalid, "ENDLESS", "nothing would end the search: set a number of iterations or a time").At("iterations")
	}
	return nil
}

// solver leads the islands.
type solver struct {
	shop     *Shop
	core     *core
	o        Options
	improved func(Improvement)
	islands  []*island
	arrived  chan int
	halt     atomic.Bool
	best     *solution
	bound    int64
	prover   *prover // nil: nothing to prove, or not worth trying
	proof    *solution
	calm     int // meetings since the best got better
	result   Result
	err      error
}

func newSolver(s *Shop, o Options, improved func(Improvement)) *solver {
	c := compile(s)
	if o.Cores == 0 {
		o.Cores = runtime.GOMAXPROCS(0)
	}
	sv := &solver{shop: s, core: c, o: o, improved: improved, arrived: make(chan int, o.Cores), bound: c.bound(o.Objective)}
	if o.Objective == Makespan && !c.flexible && c.n <= mostBounded {
		sv.prover, sv.proof = newProver(c), c.newSolution()
	}
	for i := range o.Cores {
		sv.islands = append(sv.islands, newIsland(sv, i))
	}
	return sv
}

// run lets the islands search and meet until it is enough.
func (sv *solver) run(stop Stop) (*Result, error) {
	done := make(chan struct{})
	if stop != nil {
		go func() {
			select {
			case <-stop.Done():
				sv.halt.Store(true)
			case <-done:
			}
		}()
	}
	sv.first()
	var all sync.WaitGroup
	if !sv.enough() && sv.prover != nil {
		sv.bound = int64(sv.prover.bound(int32(sv.bound), int32(sv.best.value)))
		sv.prover.root()
	}
	if !sv.enough() {
		for _, is := range sv.islands {
			all.Go(is.run)
		}
		sv.lead()
		all.Wait()
	}
	close(done)
	return &sv.result, sv.err
}

// first is a schedule at once, so that there is one however little time there is.
func (sv *solver) first() {
	s := sv.core.newSolution()
	is := sv.islands[0]
	sv.core.start(s, is.rest, is.by)
	is.search.begin(s)
	sv.take(is.search.found())
}
