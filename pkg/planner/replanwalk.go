package planner

import "math"

const (
	lookSteps    = 16   // between two looks at the clock
	constructing = 0.4  // of the walk
	warm         = 0.8  // operations moved that count as little, at the start of the walk
	cool         = 0.15 // of that, at its end
	aLittle      = 0.3  // what a plan that only is later counts
)

// walk constructs other plans for the first part of the iterations or of the budget, and then tries steps from the
// best; until nothing more can be won.
func (m *mender) walk(o Options) {
	gone, n := 0.0, 0
	open := func() bool { return gone < 1 && (m.bestToll.missed > 0 || m.bestToll.moved > m.least) }
	look := func() {
		gone = 0
		if o.Iterations > 0 {
			gone = float64(n) / float64(o.Iterations)
		}
		if o.Budget != nil {
			gone = max(gone, o.Budget())
		}
	}
	for look(); open() && gone < constructing; look() {
		m.again()
		n += 1 + len(m.homeless)
	}
	m.instead(m.best)
	m.finish()
	for ; open(); n++ {
		if n%lookSteps == 0 {
			look()
			m.heat = warm * math.Pow(cool, gone)
		}
		m.renew()
	}
}

// renew takes out something moved and what of its piece it moved, and puts it in otherwise. A plan that is not
// worse is gone on from, and by chance one that is a little.
func (m *mender) renew() {
	m.findMoved()
	if len(m.moved) == 0 {
		return
	}
	m.begin()
	m.hope, m.strict = m.share(), m.once(2)
	for range 1 + m.below(2) {
		m.takeOut(m.root(m.from(m.moved)))
	}
	ok := m.fill()
	m.settleEnds()
	if !ok || !m.accepts() {
		m.cancel()
		return
	}
	m.finish()
	m.better()
}

// findMoved lists the operations that count and are not at home, and those that miss a window.
func (m *mender) findMoved() {
	m.moved = m.moved[:0]
	for _, op := range m.turns {
		if (m.known.counts[op] && m.away(op)) || (m.toll.missed > 0 && m.misses(op) > 0) {
			m.moved = append(m.moved, op)
		}
	}
}

func (m *mender) accepts() bool {
	if m.toll.missed != m.mark.missed {
		return m.toll.missed < m.mark.missed
	}
	worse := float64(m.toll.moved - m.mark.moved)
	if worse == 0 && m.toll.late > m.mark.late+1e-6 {
		worse = aLittle
	}
	return worse <= -m.heat*math.Log(1-m.share())
}

// root goes back from an operation that is moved to the first of those it waits for that are moved too.
func (m *mender) root(op int) int {
	for i := 0; i < len(m.in[op]); i++ {
		if from := m.Lags[m.in[op][i]].From; m.free[from] && m.known.counts[from] && m.away(from) {
			op, i = from, -1
		}
	}
	return op
}

// takeOut takes out an operation, and what waits for it and is moved too.
func (m *mender) takeOut(op int) {
	if !m.placed[op] || !m.free[op] {
		return
	}
	m.eject(op)
	for _, l := range m.out[op] {
		if to := m.Lags[l].To; m.placed[to] && m.known.counts[to] && m.away(to) {
			m.takeOut(to)
		}
	}
}
