package planner

import "slices"

// savedEnd is when a piece ended before the step.
type savedEnd struct {
	piece int
	end   int32
}

// undo is what one operation was before it was put in or taken out.
type undo struct {
	op     int
	was    place
	placed bool
}

// lay puts an operation somewhere, and take takes it away; both are undone by rollback.
func (m *mender) lay(op int, p place) {
	m.log = append(m.log, undo{op: op})
	m.tried(op)
	m.set(op, p)
}

func (m *mender) take(op int) {
	m.log = append(m.log, undo{op, m.places[op], true})
	m.unset(op)
}

func (m *mender) set(op int, p place) {
	m.put(op, p)
	m.list(op, p)
	m.count(op, 1)
}

func (m *mender) unset(op int) {
	m.count(op, -1)
	m.unlist(op, m.places[op])
	m.lift(op)
}

// rollback undoes all after the first so many things done.
func (m *mender) rollback(to int) {
	for i := len(m.log) - 1; i >= to; i-- {
		if u := m.log[i]; u.placed {
			m.set(u.op, u.was)
		} else {
			m.unset(u.op)
		}
	}
	m.log = m.log[:to]
}

// list notes an operation at the hands and the station that it takes, if it is one of those that could make way.
func (m *mender) list(op int, p place) {
	if !m.near(p) {
		return
	}
	add := func(i int) { m.there[i] = append(m.there[i], int32(op)) }
	m.eachTaken(op, p, add)
}

func (m *mender) unlist(op int, p place) {
	if !m.near(p) {
		return
	}
	m.eachTaken(op, p, func(i int) {
		all := m.there[i]
		at, last := slices.Index(all, int32(op)), len(all)-1
		all[at] = all[last]
		m.there[i] = all[:last]
	})
}

// near tells whether something is done from now until what follows those days that count.
func (m *mender) near(p place) bool { return int(p.end) > m.Now && int(p.start) < m.reach }

// eachTaken names what an operation takes, by its index in there.
func (m *mender) eachTaken(op int, p place, do func(int)) {
	if p.worker >= 0 {
		do(int(p.worker))
	}
	for _, w := range m.Operations[op].With {
		do(w)
	}
	if p.station >= 0 {
		do(len(m.Workers) + int(p.station))
	}
}

// away tells whether an operation is not where people know it to be.
func (m *mender) away(op int) bool {
	p, home := &m.places[op], &m.known.places[op]
	return !m.homely[op] || p.start != home.start || p.worker != home.worker
}

// count counts an operation in the toll as it is placed now.
func (m *mender) count(op, sign int) {
	if m.known.counts[op] && m.away(op) {
		m.toll.moved += sign
	}
	m.toll.missed += sign * m.misses(op)
	m.touch(m.Operations[op].Piece)
}

// misses counts the windows opened by something fixed that are closed when an operation begins.
func (m *mender) misses(op int) (n int) {
	for _, l := range m.in[op] {
		if lag := &m.Lags[l]; lag.Max != Forever && m.blockOf[lag.From] < 0 && int(m.places[op].start-m.places[lag.From].end) > lag.Max {
			n++
		}
	}
	return n
}

func (m *mender) touch(piece int) {
	if !m.isHit[piece] {
		m.isHit[piece] = true
		m.dirty = append(m.dirty, piece)
	}
}

// settleEnds counts what pieces cost whose operations were moved.
func (m *mender) settleEnds() {
	for _, piece := range m.dirty {
		m.isHit[piece] = false
		end := int32(never)
		for _, op := range m.ends[piece] {
			if m.placed[op] {
				end = max(end, m.places[op].end)
			}
		}
		if end != m.end[piece] {
			m.saved = append(m.saved, savedEnd{piece, m.end[piece]})
			m.toll.late += m.lateness(piece, end) - m.lateness(piece, m.end[piece])
			m.end[piece] = end
		}
	}
	m.dirty = m.dirty[:0]
}

func (m *mender) lateness(piece int, end int32) float64 {
	if end == never {
		return 0
	}
	p, minute := &m.real.Pieces[piece], m.minutes(int(end))
	return p.Weight * (float64(max(0, minute-p.Due)) + lesser[1]*float64(max(0, minute-p.Release)))
}

// begin makes ready for a step; it is finished or cancelled.
func (m *mender) begin() {
	m.finish()
	m.mark = m.toll
}

func (m *mender) finish() {
	m.settleEnds()
	for _, op := range m.touched {
		m.times[op], m.later[op] = 0, 0
	}
	for _, op := range m.queue {
		m.queued[op] = false
	}
	m.log, m.queue, m.saved, m.touched = m.log[:0], m.queue[:0], m.saved[:0], m.touched[:0]
}

func (m *mender) cancel() {
	m.rollback(0)
	for i := len(m.saved) - 1; i >= 0; i-- {
		m.end[m.saved[i].piece] = m.saved[i].end
	}
	m.finish()
	m.toll = m.mark
}

// tried counts that an operation was put in, or that it was tried to.
func (m *mender) tried(op int) {
	m.times[op]++
	m.touched = append(m.touched, op)
}
