package planner

import "math"

// place is where and when an operation is done, in slots.
type place struct{ start, end, worker, station int32 }

// floor is what is taken of everybody and everything while a plan is made.
type floor struct {
	*compiled
	lanes  []lane
	rooms  []room
	places []place
	placed []bool
	epochs []int // of each worker, then each station: how often it was taken
	taste
}

// taste bends the choice between the ways to do an operation, of which the one that ends first is taken.
type taste struct {
	thrift int   // what a slot of somebody's time counts beside one of the end's, in 64ths
	slower []int // of each worker, how many slots later they count as done; nil: none
}

func newFloor(c *compiled) *floor {
	f := &floor{compiled: c, lanes: make([]lane, len(c.Workers)), rooms: make([]room, c.roomCount),
		places: make([]place, len(c.Operations)), placed: make([]bool, len(c.Operations)), epochs: make([]int, len(c.Workers)+len(c.Stations))}
	for i := range f.lanes {
		f.lanes[i].axis = c.axes[i]
	}
	for i := range f.rooms {
		f.rooms[i].capacity = 1 // of a colour
	}
	for i, s := range c.Stations {
		f.rooms[i].capacity = s.Capacity
	}
	for _, x := range c.Fixed {
		f.put(x.Operation, place{int32(x.Start), int32(x.End), int32(x.Worker), int32(x.Station)})
	}
	return f
}

// fit gives the place in which an operation ends the earliest if it begins at t or after; of two that end
// alike the one that begins later.
func (f *floor) fit(op, t int) (best place, ok bool) {
	least := math.MaxInt
	for i := range f.ways[op] {
		w := &f.ways[op][i]
		extra := w.minutes * f.thrift >> 6
		if w.worker >= 0 && f.slower != nil {
			extra += f.slower[w.worker]
		}
		p, found := f.try(w, op, t, least-extra)
		if !found {
			continue
		}
		score := int(p.end) + extra
		if score < least || (score == least && p.start > best.start) {
			least, best, ok = score, p, true
		}
	}
	return best, ok
}

// try gives the earliest place of one way to do an operation that ends at most so late.
func (f *floor) try(w *way, op, t, latest int) (place, bool) {
	latest = min(latest, f.Horizon)
	if w.plain {
		return f.quick(w, t, latest)
	}
	if len(w.stations) == 0 {
		return f.slow(w, op, NoStation, t, latest)
	}
	best, ok := place{}, false
	for _, s := range w.stations {
		if p, found := f.slow(w, op, s, t, latest); found && (!ok || p.end < best.end || (p.end == best.end && p.start > best.start)) {
			best, ok = p, true
			latest = int(p.end)
		}
	}
	return best, ok
}

// quick is for one worker at stations that are open whenever the worker is there.
func (f *floor) quick(w *way, t, latest int) (place, bool) {
	l := &f.lanes[w.worker]
	q := l.position(t)
	for {
		q = l.run(q, w.minutes)
		if q+w.minutes > l.total {
			return place{}, false
		}
		i := l.holds(q)
		start, end := l.spans[i].start+q-l.spans[i].first, 0
		switch {
		case q+w.minutes <= l.spans[i].last():
			end = start + w.minutes
		case !w.splittable:
			q = l.spans[i].last()
			continue
		default:
			for i++; l.spans[i].last() < q+w.minutes; i++ {
			}
			end = l.spans[i].start + q + w.minutes - l.spans[i].first
		}
		if end > latest {
			return place{}, false
		}
		station, until := f.room(w, start, end)
		if until == 0 {
			return place{int32(start), int32(end), int32(w.worker), int32(station)}, true
		}
		q = l.position(until)
	}
}

// room gives a station that has room from start to end; else until when the first of them has none.
func (f *floor) room(w *way, start, end int) (station, until int) {
	if len(w.stations) == 0 {
		return NoStation, 0
	}
	until = math.MaxInt
	for _, s := range w.stations {
		later, free := f.rooms[f.shade(s, w.colour)].blocked(start, end, w.demand)
		if free {
			return s, 0
		}
		until = min(until, later)
	}
	return NoStation, until
}

// slow is for all else: several hands, stations with hours of their own, work that nobody attends.
func (f *floor) slow(w *way, op, station, t, latest int) (place, bool) {
	for {
		at, ok := f.window(w, op, station, t)
		if !ok || at.End > latest {
			return place{}, false
		}
		if until, free := f.hands(&f.Operations[op], w.worker, at); !free {
			t = until
			continue
		}
		if station != NoStation {
			if until, free := f.rooms[f.shade(station, w.colour)].blocked(at.Start, at.End, w.demand); !free {
				t = until
				continue
			}
		}
		return place{int32(at.Start), int32(at.End), int32(w.worker), int32(station)}, true
	}
}

// hands tells whether all whom an operation takes are free, or when one of them ends something else.
func (f *floor) hands(o *Operation, worker int, w Window) (until int, free bool) {
	if worker != NoWorker {
		if until, free = f.lanes[worker].blocked(w); !free {
			return until, false
		}
	}
	for _, with := range o.With {
		if until, free = f.lanes[with].blocked(w); !free {
			return until, false
		}
	}
	return 0, true
}

// window gives the first stretch from t on that calendars allow. What nobody attends only begins while its
// station is open.
func (f *floor) window(w *way, op, station, t int) (Window, bool) {
	if w.worker != NoWorker {
		return f.open(op, w.worker, station).fit(t, w.minutes, w.splittable)
	}
	if station == NoStation {
		return Window{t, t + w.minutes}, true
	}
	start, ok := f.Stations[station].Calendar.opens(t)
	return Window{start, start + w.minutes}, ok
}

// put takes a place.
func (f *floor) put(op int, p place) {
	f.places[op], f.placed[op] = p, true
	f.account(op, p, true)
	end := min(int(p.end), max(f.Horizon, 0))
	if p.worker >= 0 {
		f.lanes[p.worker].own(int(p.start), end, op)
	}
	if p.station >= 0 {
		f.rooms[p.station].own(int(p.start), end, op)
	}
}

// lift gives a place back.
func (f *floor) lift(op int) {
	f.account(op, f.places[op], false)
	f.placed[op] = false
}

func (f *floor) account(op int, p place, on bool) {
	p.end = int32(min(int(p.end), max(f.Horizon, 0))) // what is fixed may go on after it
	if p.worker >= 0 {
		f.lanes[p.worker].take(int(p.start), int(p.end), on)
		f.epochs[p.worker]++
	}
	for _, with := range f.Operations[op].With {
		f.lanes[with].take(int(p.start), int(p.end), on)
		f.epochs[with]++
	}
	if p.station >= 0 {
		f.rooms[p.station].take(int(p.start), int(p.end), f.Operations[op].Demand, on)
		if f.Stations[p.station].Changeover != nil {
			f.clean(op, p, on)
		}
		f.epochs[len(f.Workers)+int(p.station)]++
	}
}
