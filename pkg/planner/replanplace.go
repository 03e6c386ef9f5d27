package planner

import (
	"math"
	"slices"
)

// leeway is where an operation may be, by what is around it.
type leeway struct {
	from, startBy  int // it begins within these
	endFrom, endBy int // it ends within these
	hope           int // as endBy, with what waits to be put in at home
}

// leeway gives the leeway of an operation that is not placed. What it waits for and is not placed either, does not count.
func (m *mender) leeway(op int) leeway {
	s := leeway{from: max(m.Now, m.Pieces[m.Operations[op].Piece].Release, m.Operations[op].Earliest, m.later[op]), startBy: math.MaxInt, endBy: m.Horizon}
	for _, l := range m.in[op] {
		lag := &m.Lags[l]
		if !m.placed[lag.From] {
			continue
		}
		end := int(m.places[lag.From].end)
		s.from = max(s.from, end+lag.Min)
		if lag.Max != Forever {
			s.startBy = min(s.startBy, end+lag.Max)
		}
	}
	s.hope = s.endBy
	for _, l := range m.out[op] {
		lag := &m.Lags[l]
		switch start := int(m.places[lag.To].start); {
		case m.blockOf[lag.To] < 0: // it has begun, whatever it should have waited for
		case m.placed[lag.To]:
			s.endBy = min(s.endBy, start-lag.Min)
			if lag.Max != Forever {
				s.endFrom = max(s.endFrom, start-lag.Max)
			}
		case m.queued[lag.To] && m.homely[lag.To]:
			s.hope = min(s.hope, int(m.known.places[lag.To].start)-lag.Min)
		}
	}
	s.hope = min(s.hope, s.endBy)
	return s
}

func (s *leeway) holds(p place) bool {
	return int(p.start) >= s.from && int(p.start) <= s.startBy && int(p.end) >= s.endFrom && int(p.end) <= s.endBy
}

// home gives the place of an operation that begins when and by whom people know it to; at the station that
// they know, where there is room.
func (m *mender) home(op int, s *leeway) (place, bool) {
	at := &m.known.places[op]
	if !m.homely[op] || int(at.start) < s.from || int(at.start) > s.startBy {
		return place{}, false
	}
	for i := range m.ways[op] {
		w := m.ways[op][i]
		if w.worker != int(at.worker) {
			continue
		}
		if at.station >= 0 && slices.Contains(w.stations, int(at.station)) {
			if p, ok := m.exactly(&w, op, int(at.station), int(at.start), s.endBy); ok && s.holds(p) {
				return p, true
			}
		}
		if p, ok := m.try(&m.ways[op][i], op, int(at.start), s.endBy); ok && p.start == at.start && s.holds(p) {
			return p, true
		}
	}
	return place{}, false
}

// exactly gives the place of one way at one station that begins at a slot.
func (m *mender) exactly(w *way, op, station, start, endBy int) (place, bool) {
	m.way = *w
	if station >= 0 {
		m.single[0] = station
		m.way.stations = m.single[:]
	}
	p, ok := m.try(&m.way, op, start, endBy)
	return p, ok && int(p.start) == start
}

// gap gives the free place of its leeway in which an operation ends first, if it ends by some slot. Now and then one
// of the ways is left out.
func (m *mender) gap(op int, s *leeway, endBy int) (best place, ok bool) {
	ways, least := m.ways[op], endBy
	without := -1
	if len(ways) > 1 && m.once(4) {
		without = m.below(len(ways))
	}
	for i := range ways {
		if i == without {
			continue
		}
		p, found := m.inGap(&ways[i], op, s, least)
		if found && (!ok || p.end < best.end || p.start > best.start) {
			best, ok, least = p, true, int(p.end)
		}
	}
	return best, ok
}

func (m *mender) inGap(w *way, op int, s *leeway, endBy int) (p place, ok bool) {
	for t := s.from; t <= s.startBy; {
		if p, ok = m.try(w, op, t, endBy); !ok || int(p.start) > s.startBy {
			return p, false
		}
		short := s.endFrom - int(p.end)
		if short <= 0 {
			return p, true
		}
		t = int(p.start) + short
	}
	return p, false
}

const (
	mostPuts  = 60 // operations put in in one step
	mostTimes = 3  // that one is put in in it
)

// fill puts in what is queued, and what that takes out.
func (m *mender) fill() bool {
	for puts := 0; len(m.queue) > 0; puts++ {
		op := m.next()
		if puts == mostPuts || m.times[op] == mostTimes || !m.place(op) {
			return false
		}
	}
	return true
}

// next takes the operation of the queue whose turn it is.
func (m *mender) next() int {
	first := 0
	for i, op := range m.queue {
		if m.compare(op, m.queue[first]) < 0 {
			first = i
		}
	}
	op, last := m.queue[first], len(m.queue)-1
	m.queue[first] = m.queue[last]
	m.queue, m.queued[op] = m.queue[:last], false
	return op
}

// place puts an operation where it disturbs least.
func (m *mender) place(op int) bool {
	s := m.leeway(op)
	p, ok := m.home(op, &s)
	if !ok {
		p, ok = m.gap(op, &s, s.hope)
	}
	if ok {
		m.lay(op, p)
		return true
	}
	at := m.cheapest(op, &s)
	switch {
	case at.weight >= nowhere/2:
		return m.postpone(op, &s)
	case at.way != nil:
		return m.forceAt(op, &at, &s)
	}
	m.shove(op, at.place)
	return true
}

// shove puts an operation somewhere, and takes out what waits for it and would begin too soon.
func (m *mender) shove(op int, p place) {
	for _, l := range m.out[op] {
		lag := &m.Lags[l]
		if m.placed[lag.To] && m.free[lag.To] && int(m.places[lag.To].start) < int(p.end)+lag.Min {
			m.eject(lag.To)
		}
	}
	m.lay(op, p)
}

// postpone has what a window began with begin later, so that an operation is within it. A window that something
// fixed began is missed.
func (m *mender) postpone(op int, s *leeway) bool {
	open := *s
	open.startBy = m.Horizon
	p, ok := m.gap(op, &open, m.Horizon)
	if !ok {
		return false
	}
	waiting := len(m.queue)
	for _, l := range m.in[op] {
		lag := &m.Lags[l]
		over := int(p.start-m.places[lag.From].end) - lag.Max
		if lag.Max == Forever || !m.placed[lag.From] || over <= 0 || !m.free[lag.From] {
			continue
		}
		m.later[lag.From] = int(m.places[lag.From].start) + over
		m.touched = append(m.touched, lag.From)
		m.eject(lag.From)
	}
	if len(m.queue) == waiting {
		m.shove(op, p)
		return true
	}
	m.tried(op)
	m.enqueue(op)
	return true
}
