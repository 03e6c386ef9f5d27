package planner

import (
	"cmp"
	"math"
	"slices"
)

// starts are minutes, from first to last, at which one may begin an operation in one way, and end it so long after.
type starts struct{ first, last, length, worker, station int }

// startsOf gives when an operation may begin, whatever others do that are not fixed, the earliest end first; of those
// who may do it at the same minutes as many as can matter.
func (t *trial) startsOf(i int) (all []starts) {
	op := t.ops[i]
	o := &t.Operations[op]
	from, until := t.begins(op)
	for _, m := range t.modesOf(i) {
		for _, s := range t.stationsOf(i, m) {
			if t.spent() {
				return nil
			}
			each := t.startsIn(t.hoursOf(o, m.Worker, s), m, o.Splittable)
			for k := range each {
				each[k].worker, each[k].station = m.Worker, s
				each[k].first, each[k].last = max(each[k].first, from), min(each[k].last, until, t.Horizon-each[k].length)
			}
			all = append(all, t.without(each, t.takenFor(o, m.Worker, s))...)
		}
	}
	all = slices.DeleteFunc(all, func(s starts) bool { return s.first > s.last })
	slices.SortFunc(all, func(a, b starts) int {
		return cmp.Or(cmp.Compare(a.first+a.length, b.first+b.length), cmp.Compare(a.first, b.first), cmp.Compare(a.last, b.last), cmp.Compare(a.worker, b.worker), cmp.Compare(a.station, b.station))
	})
	return t.fewer(i, all)
}

// begins gives from when until when an operation may begin by what it waits for that is fixed.
func (t *trial) begins(op int) (from, until Minute) {
	p, o := t.Problem, &t.Operations[op]
	t.spend(len(p.Lags))
	from, until = max(p.Now, o.Earliest, p.Pieces[o.Piece].Release), math.MaxInt
	for _, l := range p.Lags {
		if l.To != op {
			continue
		}
		t.spend(len(p.Fixed))
		for _, f := range p.Fixed {
			if f.Operation != l.From {
				continue
			}
			if from = max(from, f.End+l.Min); l.Max != Forever {
				until = min(until, f.End+l.Max)
			}
		}
	}
	return from, until
}

// hoursOf is when an operation may be worked on, or begun where nobody attends it.
func (t *trial) hoursOf(o *Operation, worker, station int) (c Calendar) {
	if station != NoStation {
		c = t.ahead(t.Stations[station].Calendar)
	}
	if worker == NoWorker {
		return c
	}
	for _, w := range append([]int{worker}, o.With...) {
		with := t.ahead(t.Workers[w].Calendar)
		t.spend(len(c) + len(with))
		c = c.and(with)
	}
	return c
}

// ahead is what of a calendar is neither past nor beyond the horizon.
func (t *trial) ahead(c Calendar) Calendar {
	if c == nil {
		return nil
	}
	first := c.at(t.Now - 1)
	return c[first:max(first, min(len(c), c.at(t.Horizon)+1))]
}

// startsIn gives when one may begin in a way: at any time that is open where nobody attends, else as fit does. It
// stops when the allowance is spent.
func (t *trial) startsIn(c Calendar, m Mode, splittable bool) (all []starts) {
	if c == nil {
		return []starts{{first: math.MinInt / 2, last: math.MaxInt / 2, length: m.Minutes}}
	}
	for i, w := range c {
		if t.spend(1); t.spent() {
			return all
		}
		if m.Worker == NoWorker {
			all = append(all, starts{first: w.Start, last: w.End - 1, length: m.Minutes})
			continue
		}
		all = append(all, starts{first: w.Start, last: min(w.End-m.Minutes, w.End-1), length: m.Minutes})
		if splittable && m.Minutes > 0 {
			all = t.over(all, c[i:], m.Minutes)
		}
	}
	return all
}

// over adds when one may begin in the first of some windows and end in one after it.
func (t *trial) over(all []starts, c Calendar, minutes int) []starts {
	w, before := c[0], 0 // minutes open between it and the window in which it ends
	for _, next := range c[1:] {
		if t.spend(1); before >= minutes || t.spent() {
			break
		}
		long := next.End - next.Start
		all = append(all, starts{first: max(w.Start, w.End-minutes+before+1), last: min(w.End-1, w.End-minutes+before+long), length: next.Start - before + minutes - w.End})
		before += long
	}
	return all
}

// takenFor gives when what is fixed leaves no place for an operation at somebody's hands and a station.
func (t *trial) takenFor(o *Operation, worker, station int) (all []Window) {
	p := t.Problem
	t.spend(len(p.Fixed))
	hands := append([]int{worker}, o.With...)
	var there []Fixed
	for _, f := range p.Fixed {
		if f.Start == f.End {
			continue
		}
		for _, w := range append([]int{f.Worker}, p.Operations[f.Operation].With...) {
			if w != NoWorker && slices.Contains(hands, w) {
				all = append(all, Window{f.Start, f.End})
			}
		}
		if f.Station == station && station != NoStation {
			there = append(there, f)
			if minutes, back := p.cleaning(station, p.Operations[f.Operation].Colour, o.Colour); minutes+back > 0 {
				all = append(all, Window{f.Start - back, f.End + minutes})
			}
		}
	}
	if station != NoStation {
		all = append(all, t.full(there, p.Stations[station].Capacity-o.Demand)...)
	}
	return all
}

// full gives when more than so many units are taken by what is fixed.
func (t *trial) full(there []Fixed, most int) (all []Window) {
	t.spend(2 * len(there) * len(there))
	var turns []Minute // at which something begins or ends
	for _, f := range there {
		turns = append(turns, f.Start, f.End)
	}
	slices.Sort(turns)
	for i, turn := range turns {
		used := 0
		for _, f := range there {
			if f.Start <= turn && f.End > turn {
				used += t.Operations[f.Operation].Demand
			}
		}
		if used > most {
			all = append(all, Window{turn, turns[i+1]}) // something is there still, and ends later
		}
	}
	return all
}

// without takes out the starts after which something overlaps a window.
func (t *trial) without(all []starts, taken []Window) []starts {
	for _, w := range taken {
		if t.spend(len(all)); t.spent() {
			return nil
		}
		var rest []starts
		for _, s := range all {
			if s.length == 0 {
				rest = append(rest, s)
				continue
			}
			before, after := s, s
			before.last, after.first = min(s.last, w.Start-s.length), max(s.first, w.End)
			if before.first <= before.last {
				rest = append(rest, before)
			}
			if after.first <= after.last {
				rest = append(rest, after)
			}
		}
		all = rest
	}
	return all
}
