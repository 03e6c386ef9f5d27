package planner

// floor is what is taken of everybody and everything while a plan is made.
type floor struct {
	*compiled
	workers  []taken
	stations []taken
	slots    []Slot
	placed   []bool
	epochs   []int // of each worker, then each station: how often it was taken
}

func newFloor(c *compiled) *floor {
	f := &floor{compiled: c, workers: make([]taken, len(c.Workers)), stations: make([]taken, len(c.Stations)),
		slots: make([]Slot, len(c.Operations)), placed: make([]bool, len(c.Operations)), epochs: make([]int, len(c.Workers)+len(c.Stations))}
	for i := range f.workers {
		f.workers[i].capacity = 1
	}
	for i, s := range c.Stations {
		f.stations[i].capacity = s.Capacity
	}
	for _, x := range c.Fixed {
		f.put(x.Operation, x.Slot)
	}
	return f
}

// fit gives the place in which an operation ends the earliest if it begins at t or after.
func (f *floor) fit(op int, t Minute) (best Slot, ok bool) {
	o := &f.Operations[op]
	for _, m := range o.Modes {
		if len(o.Stations) == 0 {
			best, ok = f.better(best, ok, op, m, NoStation, t)
		}
		stations := o.Stations
		if m.Stations != nil {
			stations = m.Stations
		}
		if len(stations) > 0 {
			best, ok = f.atOne(best, ok, op, m, stations, t)
		}
	}
	return best, ok
}

// atOne is the better of a place and those at one of some stations. None of these is sooner than who does it
// could be without a station.
func (f *floor) atOne(best Slot, ok bool, op int, m Mode, stations []int, t Minute) (Slot, bool) {
	least, found := f.place(op, m, NoStation, t)
	if !found || (ok && (least.End > best.End || (least.End == best.End && !f.Operations[op].Splittable))) {
		return best, ok
	}
	for _, s := range stations {
		if best, ok = f.better(best, ok, op, m, s, least.Start); ok && best.End == least.End {
			break
		}
	}
	return best, ok
}

func (f *floor) better(best Slot, ok bool, op int, m Mode, station int, t Minute) (Slot, bool) {
	w, found := f.place(op, m, station, t)
	if !found || (ok && (w.End > best.End || (w.End == best.End && w.Start <= best.Start))) {
		return best, ok
	}
	return Slot{m.Worker, station, w.Start, w.End}, true
}

// place gives the first stretch from t on in which somebody can do an operation at a station.
func (f *floor) place(op int, m Mode, station int, t Minute) (w Window, ok bool) {
	o := &f.Operations[op]
	for {
		if w, ok = f.window(op, m, station, t); !ok || w.End > f.Horizon {
			return w, false
		}
		if until, free := f.hands(o, m.Worker, w); !free {
			t = until
			continue
		}
		if station != NoStation {
			if until, free := f.stations[station].blocked(w, o.Demand); !free {
				t = until
				continue
			}
		}
		return w, true
	}
}

// hands tells whether all whom an operation takes are free, or when one of them ends something else.
func (f *floor) hands(o *Operation, worker int, w Window) (until Minute, free bool) {
	if worker != NoWorker {
		if until, free = f.workers[worker].blocked(w, 1); !free {
			return until, false
		}
	}
	for _, with := range o.With {
		if until, free = f.workers[with].blocked(w, 1); !free {
			return until, false
		}
	}
	return 0, true
}

// window gives the first stretch from t on that calendars allow. What nobody attends only begins while its
// station is open.
func (f *floor) window(op int, m Mode, station int, t Minute) (Window, bool) {
	if m.Worker != NoWorker {
		return f.open(op, m.Worker, station).fit(t, m.Minutes, f.Operations[op].Splittable)
	}
	if station == NoStation {
		return Window{t, t + m.Minutes}, true
	}
	start, ok := f.Stations[station].Calendar.opens(t)
	return Window{start, start + m.Minutes}, ok
}

// put takes a place.
func (f *floor) put(op int, s Slot) {
	f.slots[op], f.placed[op] = s, true
	f.account(op, s, 1)
}

// lift gives a place back.
func (f *floor) lift(op int) {
	f.account(op, f.slots[op], -1)
	f.slots[op], f.placed[op] = Slot{}, false
}

func (f *floor) account(op int, s Slot, sign int) {
	w := Window{s.Start, s.End}
	if s.Worker != NoWorker {
		f.workers[s.Worker].take(w, sign)
		f.epochs[s.Worker]++
	}
	for _, with := range f.Operations[op].With {
		f.workers[with].take(w, sign)
		f.epochs[with]++
	}
	if s.Station != NoStation {
		f.stations[s.Station].take(w, sign*f.Operations[op].Demand)
		f.epochs[len(f.Workers)+s.Station]++
	}
}
