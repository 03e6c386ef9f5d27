package planner

import (
	"cmp"
	"math"
	"slices"
)

// starts are minutes, from first to last, at which one may begin an operation in one way, and end it so long after.
type starts struct{ first, last, length, worker, station int }

// startsOf gives when an operation may begin, whatever others do that are not fixed, the earliest end first.
func (p *Problem) startsOf(op int) (all []starts) {
	o := &p.Operations[op]
	from, until := p.begins(op)
	for _, m := range o.Modes {
		stations := o.Stations
		if m.Stations != nil {
			stations = m.Stations
		}
		if len(o.Stations) == 0 {
			stations = []int{NoStation}
		}
		for _, s := range stations {
			each := p.hoursOf(o, m.Worker, s).starts(m.Minutes, o.Splittable, m.Worker == NoWorker)
			for i := range each {
				each[i].worker, each[i].station = m.Worker, s
				each[i].first, each[i].last = max(each[i].first, from), min(each[i].last, until, p.Horizon-each[i].length)
			}
			all = append(all, without(each, p.takenFor(o, m.Worker, s))...)
		}
	}
	all = slices.DeleteFunc(all, func(s starts) bool { return s.first > s.last })
	slices.SortFunc(all, func(a, b starts) int {
		return cmp.Or(cmp.Compare(a.first+a.length, b.first+b.length), cmp.Compare(a.first, b.first), cmp.Compare(a.worker, b.worker), cmp.Compare(a.station, b.station), cmp.Compare(a.last, b.last))
	})
	return all
}

// begins gives from when until when an operation may begin by what it waits for that is fixed.
func (p *Problem) begins(op int) (from, until Minute) {
	o := &p.Operations[op]
	from, until = max(p.Now, o.Earliest, p.Pieces[o.Piece].Release), math.MaxInt
	for _, l := range p.Lags {
		if l.To != op {
			continue
		}
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
func (p *Problem) hoursOf(o *Operation, worker, station int) (c Calendar) {
	if station != NoStation {
		c = p.Stations[station].Calendar
	}
	if worker == NoWorker {
		return c
	}
	c = c.and(p.Workers[worker].Calendar)
	for _, w := range o.With {
		c = c.and(p.Workers[w].Calendar)
	}
	return c
}

// starts gives when one may begin so many minutes: at any time that is open where nobody attends, else as fit does.
func (c Calendar) starts(minutes int, splittable, unattended bool) (all []starts) {
	if c == nil {
		return []starts{{first: math.MinInt / 2, last: math.MaxInt / 2, length: minutes}}
	}
	for i, w := range c {
		if unattended {
			all = append(all, starts{first: w.Start, last: w.End - 1, length: minutes})
			continue
		}
		all = append(all, starts{first: w.Start, last: min(w.End-minutes, w.End-1), length: minutes})
		if !splittable || minutes == 0 {
			continue
		}
		before := 0 // minutes open between the window and the one in which it ends
		for _, next := range c[i+1:] {
			if before >= minutes {
				break
			}
			long := next.End - next.Start
			all = append(all, starts{first: max(w.Start, w.End-minutes+before+1), last: min(w.End-1, w.End-minutes+before+long), length: next.Start - before + minutes - w.End})
			before += long
		}
	}
	return all
}

// takenFor gives when what is fixed leaves no place for an operation at somebody's hands and a station.
func (p *Problem) takenFor(o *Operation, worker, station int) (all []Window) {
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
		all = append(all, p.full(there, p.Stations[station].Capacity-o.Demand)...)
	}
	return all
}

// full gives when more than so many units are taken by what is fixed.
func (p *Problem) full(there []Fixed, most int) (all []Window) {
	var turns []Minute // at which something begins or ends
	for _, f := range there {
		turns = append(turns, f.Start, f.End)
	}
	slices.Sort(turns)
	for i, t := range turns {
		used := 0
		for _, f := range there {
			if f.Start <= t && f.End > t {
				used += p.Operations[f.Operation].Demand
			}
		}
		if used > most {
			all = append(all, Window{t, turns[i+1]}) // something is there still, and ends later
		}
	}
	return all
}

// without takes out the starts after which something overlaps a window.
func without(all []starts, taken []Window) []starts {
	for _, w := range taken {
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
