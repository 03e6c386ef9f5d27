package planner

import "slices"

// placeable tries every place of each of some operations, minute by minute, with only the given constraints. It
// shares nothing with what explains.
func placeable(p *Problem, ops []int, kept []Constraint) bool {
	is := func(k ConstraintKind, i int) bool { return slices.Contains(kept, Constraint{k, i}) }
	horizon := p.Horizon
	if !is(PlanHorizon, 0) {
		horizon = 60
	}
	slots, placed := make([]Slot, len(p.Operations)), make([]bool, len(p.Operations))
	for _, f := range p.Fixed {
		if is(FixedWork, f.Operation) {
			slots[f.Operation], placed[f.Operation] = f.Slot, true
		}
	}
	open := func(c Calendar, at int) bool {
		return c == nil || slices.ContainsFunc(c, func(w Window) bool { return at >= w.Start && at < w.End })
	}
	there := func(o *Operation, worker, station, at int) bool {
		for _, w := range append([]int{worker}, o.With...) {
			if w != NoWorker && is(WorkerHours, w) && !open(p.Workers[w].Calendar, at) {
				return false
			}
		}
		return station == NoStation || !is(StationHours, station) || open(p.Stations[station].Calendar, at)
	}
	end := func(o *Operation, m Mode, station, start int) int { // -1: not there
		if m.Worker == NoWorker {
			if station != NoStation && is(StationHours, station) && !open(p.Stations[station].Calendar, start) {
				return -1
			}
			return start + m.Minutes
		}
		at, worked := start, 0
		for ; worked < m.Minutes && at < 100; at++ {
			if there(o, m.Worker, station, at) {
				worked++
			} else if !o.Splittable || at == start {
				return -1
			}
		}
		if worked < m.Minutes {
			return -1
		}
		return at
	}
	free := func(op int) bool {
		s, o := slots[op], p.Operations[op]
		for at := s.Start; at < s.End; at++ {
			used := 0
			for other, x := range slots {
				if !placed[other] || at < x.Start || at >= x.End {
					continue
				}
				if x.Station == s.Station {
					used += p.Operations[other].Demand
				}
				for _, w := range append([]int{x.Worker}, p.Operations[other].With...) {
					if other != op && w != NoWorker && slices.Contains(append([]int{s.Worker}, o.With...), w) {
						return false
					}
				}
			}
			if s.Station != NoStation && is(StationRoom, s.Station) && used > p.Stations[s.Station].Capacity {
				return false
			}
		}
		for other, x := range slots {
			if other == op || !placed[other] || s.Station == NoStation || x.Station != s.Station || !is(Cleaning, s.Station) || p.Stations[s.Station].Changeover == nil || s.Start == s.End || x.Start == x.End {
				continue
			}
			over := p.Stations[s.Station].Changeover
			after, back := over[p.Operations[other].Colour][o.Colour], over[o.Colour][p.Operations[other].Colour]
			if after+back > 0 && s.Start < x.End+after && x.Start < s.End+back {
				return false
			}
		}
		for i, l := range p.Lags {
			if !placed[l.From] || !placed[l.To] || (l.To != op && l.From != op) || slices.ContainsFunc(p.Fixed, func(f Fixed) bool { return f.Operation == l.To }) {
				continue
			}
			if gap := slots[l.To].Start - slots[l.From].End; gap < l.Min || (l.Max != Forever && is(LongestWait, i) && gap > l.Max) {
				return false
			}
		}
		return true
	}
	var try func(i int) bool
	try = func(i int) bool {
		if i == len(ops) {
			return true
		}
		op := ops[i]
		o := p.Operations[op]
		if len(o.Modes) == 0 && !is(NobodyAble, op) {
			o = Operation{Piece: o.Piece, Earliest: o.Earliest, Modes: []Mode{{Worker: NoWorker}}}
		}
		stations := o.Stations
		if stations == nil {
			stations = []int{NoStation}
		}
		from := p.Now
		if is(EarliestStart, op) {
			from = max(from, o.Earliest)
		}
		if is(ReleaseDate, o.Piece) {
			from = max(from, p.Pieces[o.Piece].Release)
		}
		for _, m := range o.Modes {
			for _, station := range stations {
				for start := from; start <= horizon; start++ {
					until := end(&o, m, station, start)
					if until < 0 || until > horizon {
						continue
					}
					slots[op], placed[op] = Slot{m.Worker, station, start, until}, true
					if free(op) && try(i+1) {
						return true
					}
					placed[op] = false
				}
			}
		}
		return false
	}
	return try(0)
}
