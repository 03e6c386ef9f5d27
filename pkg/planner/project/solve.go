package project

import "sync"

// Status is what is known of a project.
type Status int

// What is known.
const (
	Unknown    Status = iota // neither a plan nor that there is none
	Planned                  // a plan, and perhaps there is a shorter one
	Optimal                  // a plan, and there is no shorter one
	Infeasible               // there is no plan
)

// Options of Solve.
type Options struct {
	Seed uint64
	// Conflicts is after how many of them each search ends; 0: when it is stopped.
	Conflicts int
	// Improved is told of each better plan, and of each better bound; nil: nobody is.
	Improved func(Result)
}

// Result is the best that was found.
type Result struct {
	Status   Status
	Starts   []int // of each activity; nil: no plan is known
	Makespan int
	Bound    int // no plan is shorter
}

// Stop tells when it is time to stop; a context does.
type Stop interface{ Done() <-chan struct{} }

func stopped(s Stop) bool {
	if s == nil {
		return false
	}
	select {
	case <-s.Done():
		return true
	default:
		return false
	}
}

// meeting is after how many conflicts the searches tell each other what they know.
const meeting = 1000

// Solve looks for the shortest plan until it is proved, it is stopped or conflicts are used up. By conflicts it
// gives the same each time. Stop may be nil. Faults: PROJECT_MALFORMED.
func Solve(stop Stop, p *Project, o Options) (Result, error) {
	if err := p.Check(); err != nil {
		return Result{}, err
	}
	if stop == nil && o.Conflicts <= 0 {
		return Result{}, malformed("Nothing would end the search: say how many conflicts, or when to stop.")
	}
	pair := [2]*searcher{{solver: newSolver(p, o.Seed), ways: [2]way{earliest, weighty}}, {solver: newSolver(p, o.Seed+1), ways: [2]way{makespans, makespans}}}
	pair[0].lists = newLists(p, o.Seed)
	var r Result
	r.Bound = pair[0].low(pair[0].end)
	for spent := 0; r.Status < Optimal && !stopped(stop) && (o.Conflicts == 0 || spent < o.Conflicts); spent += meeting {
		var both sync.WaitGroup
		for _, s := range pair {
			both.Go(func() { s.until(stop, meeting) })
		}
		both.Wait()
		if r.take(pair) && o.Improved != nil {
			o.Improved(r)
		}
	}
	return r, nil
}

// searcher is a solver with how it searches, from one restart to the next.
type searcher struct {
	*solver
	ways     [2]way // in turns
	restarts int
	left     int // conflicts before the next restart
	best     []int
	makespan int
	lists    *lists // nil: there are longest lags
}

// tries is how many lists are tried between two meetings.
const tries = 1000

// until searches for so many conflicts.
func (s *searcher) until(stop Stop, conflicts int) {
	s.list()
	for conflicts > 0 && !s.failed && !stopped(stop) {
		if s.left <= 0 {
			s.restarts++
			s.left = 100 * luby(s.restarts)
			s.undo(0)
		}
		some := min(conflicts, s.left, 100)
		switch s.run(s.ways[s.restarts%2], some) {
		case found:
			s.keep()
		case refuted:
			return
		}
		conflicts, s.left = conflicts-some, s.left-some
	}
}

// list looks for a shorter plan by lists.
func (s *searcher) list() {
	if s.lists == nil || s.failed {
		return
	}
	s.lists.better(tries)
	if s.best == nil || s.lists.least < s.makespan {
		s.best, s.makespan, s.near = s.lists.best, s.lists.least, s.lists.best
		s.shorter(s.makespan)
	}
}

// keep takes what was found as the best plan, and asks for a shorter one.
func (s *searcher) keep() {
	s.best = s.starts()
	s.makespan = 0
	for a, at := range s.best {
		s.makespan = max(s.makespan, at+s.Activities[a].Duration)
	}
	s.near = s.best
	s.shorter(s.makespan)
}

// shorter asks for a makespan below one.
func (s *searcher) shorter(makespan int) { s.need(lit{int32(2*s.end + 1), int32(1 - makespan)}) }

// take makes what each search knows known to both; true: it is more than before.
func (r *Result) take(pair [2]*searcher) (more bool) {
	for _, s := range pair {
		if s.best != nil && (r.Starts == nil || s.makespan < r.Makespan) {
			r.Starts, r.Makespan, r.Status, more = s.best, s.makespan, Planned, true
		}
	}
	for _, s := range pair {
		if s.failed {
			r.prove()
			return true
		}
		if bound := s.always(2 * s.end); bound > r.Bound {
			r.Bound, more = bound, true
		}
	}
	for _, s := range pair {
		r.tell(s)
	}
	return more
}

// prove notes that nothing better than what is known can be.
func (r *Result) prove() {
	r.Status = Infeasible
	if r.Starts != nil {
		r.Status, r.Bound = Optimal, r.Makespan
	}
}

// tell gives a search the best plan and the best bound.
func (r *Result) tell(s *searcher) {
	if r.Starts != nil && (s.best == nil || s.makespan > r.Makespan) {
		s.best, s.makespan, s.near = r.Starts, r.Makespan, r.Starts
		s.shorter(r.Makespan)
	}
	if !s.failed && s.always(2*s.end) < r.Bound {
		s.need(lit{int32(2 * s.end), int32(r.Bound)})
	}
}
