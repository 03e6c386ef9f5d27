package planner

import "math"

const (
	mostEvicted = 3    // operations that make way for one
	makesWay    = 0.2  // the weight of any that does, beside those of what is moved from home: a place is to be found for it
	onlyLater   = 0.01 // of any that only begins later
	nowhere     = 1e9  // the weight of what may not make way
)

// spot is where an operation could be put, and what moves then.
type spot struct {
	way        *way
	station, t int
	place      place // a gap; without a way
	weight     float64
}

// cheapest gives the spot of all gaps, and of all places where others are, at which the fewest others move, by
// chance a little otherwise.
func (m *mender) cheapest(op int, s *leeway) spot {
	best := spot{weight: math.MaxFloat64}
	for i := range m.ways[op] {
		w := &m.ways[op][i]
		if p, ok := m.inGap(w, op, s, m.Horizon); ok {
			m.consider(&best, spot{place: p, weight: m.pushed(op, int(p.end))})
		}
		if len(w.stations) == 0 {
			m.lightest(op, w, NoStation, s, &best)
		}
		for _, station := range w.stations {
			m.lightest(op, w, station, s, &best)
		}
	}
	return best
}

func (m *mender) consider(best *spot, x spot) {
	if x.weight *= 0.5 + m.share(); x.weight < best.weight {
		*best = x
	}
}

// lightest looks at each slot of a leeway at which something begins that is in the way, and at the first.
func (m *mender) lightest(op int, w *way, station int, s *leeway, best *spot) {
	until := min(m.reach, s.startBy)
	if m.strict {
		until = min(until, s.hope-w.minutes)
	}
	taken := w.worker
	if taken < 0 {
		if taken = len(m.Workers) + station; station < 0 {
			return
		}
	}
	look := func(t int) {
		at, ok := m.window(w, op, station, t)
		if !ok || at.End > m.Horizon || at.Start > s.startBy || at.End < s.endFrom {
			return
		}
		if m.strict && at.End > s.hope {
			return
		}
		if pushed := m.pushed(op, at.End); pushed < best.weight {
			m.consider(best, spot{way: w, station: station, t: t, weight: pushed + m.weight(w, station, at)})
		}
	}
	look(s.from)
	for _, other := range m.there[taken] {
		if t := int(m.places[other].start); t > s.from && t <= until {
			look(t)
		}
	}
}

// pushed is about how many that follow an operation would begin too soon if it ended at a slot.
func (m *mender) pushed(op, end int) (sum float64) {
	for _, l := range m.out[op] {
		lag := &m.Lags[l]
		p := &m.places[lag.To]
		switch {
		case m.queued[lag.To] && m.homely[lag.To]:
			p = &m.known.places[lag.To]
		case !m.placed[lag.To]:
			continue
		}
		from := end + lag.Min
		if int(p.start) >= from || m.blockOf[lag.To] < 0 {
			continue
		}
		if m.known.counts[lag.To] && (m.queued[lag.To] || !m.away(lag.To)) {
			sum++
		}
		sum += onlyLater + m.pushed(lag.To, from+int(p.end-p.start))
	}
	return sum
}

// weight is what moves with what is in the way of a stretch.
func (m *mender) weight(w *way, station int, at Window) (sum float64) {
	until, room := 0, station < 0
	if !room {
		until, room = m.rooms[m.shade(station, w.colour)].blocked(at.Start, at.End, w.demand)
	}
	if w.worker >= 0 {
		for _, other := range m.there[w.worker] {
			if p := &m.places[other]; int(p.start) < at.End && int(p.end) > at.Start {
				if !m.movable(int(other)) {
					return nowhere
				}
				sum += m.heft(int(other), at.End)
				room = room || int(p.station) == station
			}
		}
	}
	if !room {
		if other := m.occupant(w, station, until-1, at.End); other >= 0 {
			return sum + m.heft(other, at.End)
		}
		return nowhere
	}
	return sum
}

// heft is about what moves if an operation makes way until a slot: at least what would have to if it began
// there, at most all that follow it.
func (m *mender) heft(op, until int) float64 {
	one := makesWay
	if m.known.counts[op] && !m.away(op) {
		one++
	}
	if m.strict {
		return one + float64(m.burden[op]-1)
	}
	p := &m.places[op]
	return one + m.hope*m.pushed(op, until+int(p.end-p.start)) + (1-m.hope)*float64(m.burden[op]-1)
}

// movable tells whether an operation may make way: it is not fixed, not pinned, and was not put in in this step.
func (m *mender) movable(op int) bool {
	return m.free[op] && !m.Operations[op].Pinned && m.times[op] == 0
}

// forceAt puts an operation at the first stretch of a spot that calendars allow, if what is there may make way; if
// not, the step fails.
func (m *mender) forceAt(op int, x *spot, s *leeway) bool {
	at, ok := m.window(x.way, op, x.station, x.t)
	if !ok || !m.evict(op, x.way, x.station, at) {
		return false
	}
	p, ok := m.exactly(x.way, op, x.station, at.Start, m.Horizon)
	if !ok || int(p.start) > s.startBy || int(p.end) < s.endFrom {
		return false
	}
	m.shove(op, p)
	return true
}

// evict takes out what is in the way of a stretch, and queues it; false: something may not be, or too much.
func (m *mender) evict(op int, w *way, station int, at Window) bool {
	evicted := 0
	if w.worker >= 0 && !m.clearHands(w.worker, at, &evicted) {
		return false
	}
	for _, with := range m.Operations[op].With {
		if !m.clearHands(with, at, &evicted) {
			return false
		}
	}
	if station < 0 {
		return true
	}
	for {
		until, free := m.rooms[m.shade(station, w.colour)].blocked(at.Start, at.End, w.demand)
		if free {
			return true
		}
		other := m.occupant(w, station, until-1, at.End)
		if other < 0 || evicted == mostEvicted {
			return false
		}
		evicted++
		m.eject(other)
	}
}

func (m *mender) clearHands(worker int, at Window, evicted *int) bool {
	for i := 0; i < len(m.there[worker]); {
		other := int(m.there[worker][i])
		if p := &m.places[other]; int(p.start) >= at.End || int(p.end) <= at.Start {
			i++
			continue
		}
		if !m.movable(other) || *evicted == mostEvicted {
			return false
		}
		*evicted++
		m.eject(other) // the last of the list is here now
	}
	return true
}

// occupant draws one that may make way of those that take a station at a slot, with the cleaning after and before
// them; -1: there is none.
func (m *mender) occupant(w *way, station, t, until int) (op int) {
	op = -1
	least := 0.0
	for _, other := range m.there[len(m.Workers)+station] {
		after, before := m.cleaning(station, m.Operations[other].Colour, w.colour)
		if p := &m.places[other]; int(p.start)-before <= t && int(p.end)+after > t && m.movable(int(other)) {
			if x := m.heft(int(other), until) * (0.5 + m.share()); op < 0 || x < least {
				op, least = int(other), x
			}
		}
	}
	return op
}

// eject takes an operation out and queues it.
func (m *mender) eject(op int) {
	m.take(op)
	m.enqueue(op)
}

func (m *mender) enqueue(op int) {
	m.queue, m.queued[op] = append(m.queue, op), true
}
