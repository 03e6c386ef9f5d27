package project

import "slices"

// learning is what tracing a conflict back needs.
type learning struct {
	conflict []lit
	wanted   []int32 // of each side, the value that is in the nogood so far
	since    []int32 // and the entry with which that began to hold; -1: the side is not in it
	sides    []int32 // that are in it, with some that are not any more
	lits     []lit
}

func newLearning(sides int) learning {
	l := learning{wanted: make([]int32, sides), since: make([]int32, sides)}
	for x := range l.since {
		l.since[x] = -1
	}
	return l
}

// learn traces a conflict back to one bound of the last decision with some of those before, remembers that they
// cannot be together, goes back to where that tells something new, and has it told. False: there is nothing left.
func (s *solver) learn(conflict []lit) bool {
	last := int32(-1)
	for _, l := range conflict {
		last = max(last, s.since(l))
	}
	level := 0
	if last >= 0 {
		level = s.level(last)
	}
	if level == 0 {
		s.failed = true
		return false
	}
	lits := s.trace(conflict, s.levels[level-1], last)
	back, levels := s.deepest(lits)
	s.undo(back)
	s.forgetLess()
	if len(lits) == 1 {
		s.raise(lits[0].not(), int32(len(s.reasons)))
		return true
	}
	n := s.remember(lits, levels)
	s.raise(lits[0].not(), ofNogood(n))
	return true
}

// trace resolves the bounds of a conflict that hold since the decision at entry first or later, until one is left:
// the first unique implication point. That comes first.
func (s *solver) trace(conflict []lit, first, last int32) []lit {
	m := &s.learning
	m.sides = m.sides[:0]
	open := 0
	for _, l := range conflict {
		open += s.want(l, first)
	}
	for e := last; ; e-- {
		x := s.entries[e].x
		if m.since[x] != e {
			continue
		}
		if open == 1 {
			m.lits = append(m.lits[:0], lit{x, m.wanted[x]})
			m.since[x] = -1
			break
		}
		m.since[x] = -1
		open--
		s.reason(e, func(l lit) { open += s.want(l, first) })
	}
	s.gather()
	return m.lits
}

// gather takes the bounds that are left, but for those that follow from others.
func (s *solver) gather() {
	m := &s.learning
	slices.Sort(m.sides)
	m.sides = slices.Compact(m.sides)
	for _, x := range m.sides {
		if e := m.since[x]; e >= 0 && !s.follows(e) {
			m.lits = append(m.lits, lit{x, m.wanted[x]})
		}
	}
	for _, x := range m.sides {
		m.since[x] = -1
	}
}

// want takes a bound into the nogood; it gives how many more of the last decision that are.
func (s *solver) want(l lit, first int32) int {
	m := &s.learning
	before := m.since[l.x]
	if before >= 0 && m.wanted[l.x] >= l.v {
		return 0
	}
	e := s.since(l)
	if len(s.levels) == 0 || e < s.levels[0] {
		return 0 // it holds whatever is decided
	}
	s.weights[l.x] += s.activity
	m.wanted[l.x], m.since[l.x] = l.v, e
	if before < 0 {
		m.sides = append(m.sides, l.x)
	}
	if e >= first && before < first {
		return 1
	}
	return 0
}

// reason gives the bounds from which an entry followed.
func (s *solver) reason(e int32, each func(lit)) {
	it := s.entries[e]
	if it.from >= 0 {
		for _, l := range s.reasons[it.from:it.to] {
			each(l)
		}
		return
	}
	n := &s.nogoods[ofNogood(it.from)]
	n.weight += s.step
	for _, l := range n.lits[1:] {
		each(l)
	}
}

// follows reports whether an entry follows from other bounds of the nogood alone.
func (s *solver) follows(e int32) bool {
	it := s.entries[e]
	if it.from == decided {
		return false
	}
	all := true
	s.reason(e, func(l lit) {
		from := s.since(l)
		in := s.learning.since[l.x] >= 0 && s.learning.wanted[l.x] >= l.v && l.x != it.x
		all = all && (from < s.levels[0] || in)
	})
	return all
}

// deepest brings the bound after the first that was decided last to the second place, and gives after how many
// decisions that was, and of how many decisions the bounds are.
func (s *solver) deepest(lits []lit) (level, levels int) {
	seen := map[int]bool{}
	for i := 1; i < len(lits); i++ {
		at := s.level(s.since(lits[i]))
		seen[at] = true
		if at > level {
			level = at
			lits[1], lits[i] = lits[i], lits[1]
		}
	}
	return level, len(seen) + 1
}

// forgetLess has what was in conflicts long ago weigh less than what is in this one.
func (s *solver) forgetLess() {
	s.activity /= 0.95
	s.step /= 0.999
	if s.activity > 1e100 {
		for x := range s.weights {
			s.weights[x] *= 1e-100
		}
		s.activity *= 1e-100
	}
	if s.step > 1e20 {
		for i := range s.nogoods {
			s.nogoods[i].weight *= 1e-20
		}
		s.step *= 1e-20
	}
}
