package planner

import "slices"

const insertWays = 6 // tried for each operation that cannot stay

// start brings home what can stay, and puts in the rest. Where that does not go, it begins with another plan.
func (m *mender) start(otherwise []place) {
	m.least = m.forced()
	for _, urgent := range []bool{true, false} { // a window that runs does not wait for what others were promised
		for _, op := range m.turns {
			if m.urgent[m.blockOf[op]] == urgent {
				m.bringHome(op)
			}
		}
	}
	m.finish()
	for _, op := range m.turns {
		if !m.placed[op] {
			m.homeless = append(m.homeless, op)
		}
	}
	m.bare = slices.Clone(m.places)
	if !m.construct() {
		m.instead(otherwise)
	}
	m.best, m.bestToll = slices.Clone(m.places), m.toll
}

// construct puts in what cannot stay, one after the other.
func (m *mender) construct() bool {
	for _, op := range m.homeless {
		if !m.placed[op] && !m.insert(op) {
			return false
		}
	}
	return true
}

// again constructs another plan, from what can stay on.
func (m *mender) again() {
	for _, op := range m.homeless {
		if m.placed[op] {
			m.unset(op)
		}
	}
	for _, op := range m.turns {
		if m.placed[op] && m.places[op] != m.bare[op] {
			m.unset(op)
			m.queue = append(m.queue, op)
		}
	}
	for _, op := range m.queue {
		m.set(op, m.bare[op])
	}
	m.queue = m.queue[:0]
	m.finish()
	if m.construct() {
		m.better()
	} else {
		m.instead(m.best)
	}
}

func (m *mender) better() {
	if m.toll.less(m.bestToll) {
		m.best, m.bestToll = append(m.best[:0], m.places...), m.toll
	}
}

// forced counts the operations that could not be at home if nothing else were to be placed.
func (m *mender) forced() (n int) {
	for op, counts := range m.known.counts {
		if counts {
			s := m.leeway(op)
			if _, ok := m.home(op, &s); !ok {
				n++
			}
		}
	}
	return n
}

func (m *mender) bringHome(op int) {
	s := m.leeway(op)
	if p, ok := m.home(op, &s); ok {
		m.lay(op, p)
	}
}

// instead takes places as they are in another plan.
func (m *mender) instead(places []place) {
	for _, op := range m.turns {
		if m.placed[op] {
			m.unset(op)
		}
	}
	for _, op := range m.turns {
		m.set(op, places[op])
	}
}

// insert puts an operation in, in the best of some ways.
func (m *mender) insert(op int) bool {
	best, found := toll{}, false
	for range insertWays {
		if m.attempt(op) && (!found || m.toll.less(best)) {
			best, found = m.toll, true
			m.remember()
		}
		m.cancel()
	}
	if found {
		for _, x := range m.chosen {
			if m.placed[x.op] {
				m.unset(x.op)
			}
		}
		for _, x := range m.chosen {
			m.set(x.op, x.was)
		}
	}
	m.finish()
	return found
}

// remember keeps where what a step put in is now.
func (m *mender) remember() {
	m.chosen = m.chosen[:0]
	for _, op := range m.touched {
		if !slices.ContainsFunc(m.chosen, func(x undo) bool { return x.op == op }) {
			m.chosen = append(m.chosen, undo{op: op, was: m.places[op]})
		}
	}
}

func (m *mender) attempt(op int) bool {
	m.begin()
	m.hope, m.strict = m.share(), m.once(2)
	m.enqueue(op)
	ok := m.fill()
	m.settleEnds()
	return ok
}
