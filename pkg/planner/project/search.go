package project

// way is how the next decision is found.
type way int

const (
	earliest  way = iota // the earliest start first, as early as it can be
	weighty              // what was of most weight in conflicts, near the best plan
	makespans            // the least makespan first, and then as weighty
)

// outcome is how a search ended.
type outcome int

const (
	paused  outcome = iota // the conflicts allowed were had
	found                  // all starts are known
	refuted                // there is nothing left to try
)

// run searches until so many conflicts were had.
func (s *solver) run(w way, conflicts int) outcome {
	for {
		conflict := s.settle()
		switch {
		case conflict != nil:
			if !s.learn(conflict) {
				return refuted
			}
			conflicts--
			if s.kept > 4000+20*len(s.Activities) {
				s.reduce()
			}
		case conflicts <= 0:
			return paused
		default:
			l, open := s.choose(w)
			if !open {
				return found
			}
			s.decide(l)
		}
	}
}

// choose gives the next bound to try; open: some start is not known yet.
func (s *solver) choose(w way) (l lit, open bool) {
	if w == makespans && s.low(s.end) < s.high(s.end) {
		return s.early(s.end), true
	}
	if w == earliest {
		return s.soonest()
	}
	best := -1
	for a := range s.Activities {
		if s.low(a) < s.high(a) && (best < 0 || s.weight(a) > s.weight(best)) {
			best = a
		}
	}
	if best < 0 {
		return lit{}, false
	}
	return s.split(best), true
}

func (s *solver) weight(a int) float64 { return s.weights[2*a] + s.weights[2*a+1] }

// early has an activity start as early as it can.
func (s *solver) early(a int) lit { return lit{int32(2*a + 1), int32(-s.low(a))} }

// soonest takes the activity that can start first; of several the one with the least room.
func (s *solver) soonest() (lit, bool) {
	best := -1
	for a := range s.Activities {
		if s.low(a) == s.high(a) {
			continue
		}
		if best < 0 || s.low(a) < s.low(best) || s.low(a) == s.low(best) && s.high(a) < s.high(best) {
			best = a
		}
	}
	if best < 0 {
		return lit{}, false
	}
	return s.early(best), true
}

// split has an activity start near where it does in the best plan.
func (s *solver) split(a int) lit {
	if s.near == nil {
		return s.early(a)
	}
	switch at := s.near[a]; {
	case at >= s.high(a):
		return lit{int32(2 * a), int32(s.high(a))}
	case at <= s.low(a):
		return s.early(a)
	default:
		return lit{int32(2*a + 1), int32(-at)}
	}
}

// starts gives what was found.
func (s *solver) starts() []int {
	all := make([]int, len(s.Activities))
	for a := range all {
		all[a] = s.low(a)
	}
	return all
}

// luby is the i-th number, from 1, of the sequence 1 1 2 1 1 2 4 1 1 2 1 1 2 4 8 …
func luby(i int) int {
	for k := 1; ; k++ {
		if i == 1<<k-1 {
			return 1 << (k - 1)
		}
		if i < 1<<k-1 {
			return luby(i - 1<<(k-1) + 1)
		}
	}
}
