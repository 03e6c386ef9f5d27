package project

// solver finds starts within bounds, or that there are none.
type solver struct {
	*Project
	*trail
	end     int // the activity that stands for the end of the project: its start is the makespan
	lags    [][]arc
	usages  []*usage
	uses    [][]int // of each activity, its usages
	stale   []bool  // of each usage
	next    int     // the first entry that was not followed up yet
	nogoods []nogood
	kept    int
	watches [][]watch

	step     float32 // weight of what is in the next conflict
	learning learning
	random   uint64
	near     []int // starts to stay near; nil: none are known

	activity float64
	weights  []float64 // of each side
	failed   bool      // nothing is left to try
}

// arc makes a side follow another: bound(to) is at least bound(from) + least.
type arc struct{ to, least int32 }

func newSolver(p *Project, seed uint64) *solver {
	n := len(p.Activities)
	horizon := p.horizon()
	s := &solver{Project: p, end: n, lags: make([][]arc, 2*n+2), uses: make([][]int, n+1), watches: make([][]watch, 2*n+2),
		weights: make([]float64, 2*n+2), step: 1, activity: 1, random: seed*2 + 1}
	s.trail = newTrail(n+1, func(x int) int {
		if x%2 == 0 {
			return 0
		}
		return -horizon
	})
	for a, it := range p.Activities {
		s.follow(a, s.end, it.Duration)
	}
	for _, l := range p.Lags {
		s.follow(l.From, l.To, l.Min)
	}
	for r, capacity := range p.Capacities {
		s.addUsage(r, capacity)
	}
	s.learning = newLearning(2*n + 2)
	s.failed = !s.begin()
	return s
}

func (s *solver) follow(from, to, least int) {
	s.lags[2*from] = append(s.lags[2*from], arc{int32(2 * to), int32(least)})
	s.lags[2*to+1] = append(s.lags[2*to+1], arc{int32(2*from + 1), int32(least)})
}

func (s *solver) addUsage(r, capacity int) {
	u := &usage{capacity: capacity, demands: make([]int, len(s.Activities)), lengths: make([]int, len(s.Activities))}
	for a, it := range s.Activities {
		u.demands[a], u.lengths[a] = it.Demands[r], it.Duration
		if it.Demands[r] > 0 && it.Duration > 0 {
			u.takers = append(u.takers, a)
			s.uses[a] = append(s.uses[a], len(s.usages))
		}
	}
	s.usages, s.stale = append(s.usages, u), append(s.stale, true)
}

// begin follows up the first bounds; false: they cannot be.
func (s *solver) begin() bool {
	for r, u := range s.usages {
		for _, a := range u.takers {
			if s.Activities[a].Demands[r] > u.capacity {
				return false
			}
		}
	}
	for x := range s.lags {
		if s.push(int32(x)) != nil {
			return false
		}
	}
	return s.settle() == nil
}

// set raises a bound for a reason: what reasons has from an index on. A conflict is the reason with the bound that
// stands against it.
func (s *solver) set(l lit, from int32) []lit {
	if s.holds(l) {
		s.reasons = s.reasons[:from]
		return nil
	}
	if s.fails(l) {
		conflict := append(s.learning.conflict[:0], s.reasons[from:]...)
		s.learning.conflict = append(conflict, l.not())
		s.reasons = s.reasons[:from]
		return s.learning.conflict
	}
	s.raise(l, from)
	return nil
}

// push raises what follows a side by lags.
func (s *solver) push(x int32) []lit {
	for _, a := range s.lags[x] {
		if v := s.bound[x] + a.least; v > s.bound[a.to] {
			from := int32(len(s.reasons))
			s.reasons = append(s.reasons, lit{x, s.bound[x]})
			if conflict := s.set(lit{a.to, v}, from); conflict != nil {
				return conflict
			}
		}
	}
	return nil
}

// settle follows up all that rose until nothing more follows; else it gives bounds that hold and cannot together.
func (s *solver) settle() []lit {
	for {
		for s.next < len(s.entries) {
			x := s.entries[s.next].x
			s.next++
			if a := int(x / 2); a < s.end {
				for _, u := range s.uses[a] {
					s.stale[u] = true
				}
			}
			if conflict := s.push(x); conflict != nil {
				return conflict
			}
			if conflict := s.visit(x); conflict != nil {
				return conflict
			}
		}
		u := s.staleOne()
		if u < 0 {
			return nil
		}
		if conflict := s.check(s.usages[u]); conflict != nil {
			return conflict
		}
	}
}

func (s *solver) staleOne() int {
	for u, is := range s.stale {
		if is {
			s.stale[u] = false
			return u
		}
	}
	return -1
}

// undo goes back to so many decisions.
func (s *solver) undo(level int) {
	s.back(level)
	s.next = min(s.next, len(s.entries))
	for u := range s.stale {
		s.stale[u] = true
	}
}

// need asks for a bound from now on, whatever is decided. The solver has failed if it cannot be.
func (s *solver) need(l lit) {
	s.undo(0)
	s.failed = s.failed || s.fails(l)
	if s.failed || s.holds(l) {
		return
	}
	s.raise(l, int32(len(s.reasons)))
	s.failed = s.settle() != nil
}
