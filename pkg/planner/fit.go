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
		for _, s := range o.Stations {
			best, ok = f.better(best, ok, op, m, s, t)
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
		if w, ok = f.open(o, m, station, t); !ok || w.End > f.Horizon {
			return w, false
		}
		if m.Worker != NoWorker {
			if until, free := f.workers[m.Worker].blocked(w, 1); !free {
				t = until
				continue
			}
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

// open gives the first stretch from t on that calendars allow. What nobody attends only begins while its
// station is open.
func (f *floor) open(o *Operation, m Mode, station int, t Minute) (Window, bool) {
	if m.Worker != NoWorker {
		return f.both(m.Worker, station).fit(t, m.Minutes, o.Splittable)
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
	if s.Station != NoStation {
		f.stations[s.Station].take(w, sign*f.Operations[op].Demand)
		f.epochs[len(f.Workers)+s.Station]++
	}
}
