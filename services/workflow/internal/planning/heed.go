package planning

import (
	"slices"

	"tackfree/pkg/planner"
)

// heed has pins go before what people know: of a plan that was published before something was pinned, what is pinned
// is known to be where the pin says, and nobody knows any more of what is in the way of that.
func (m *maker) heed(known *planner.Plan) {
	for op := range m.jobs {
		o := &m.p.Operations[op]
		if !o.Pinned || len(o.Modes) == 0 || known.Slots[op].Start == o.Earliest || m.waits(op, known) {
			continue
		}
		mode := o.Modes[0]
		for _, other := range o.Modes {
			if other.Worker == known.Slots[op].Worker {
				mode = other
			}
		}
		end, can := m.until(mode, o.Earliest, o.Splittable)
		if !can {
			continue
		}
		station := planner.NoStation
		if len(o.Stations) > 0 {
			station = o.Stations[max(0, slices.Index(o.Stations, known.Slots[op].Station))]
		}
		known.Slots[op] = planner.Slot{Worker: mode.Worker, Station: station, Start: o.Earliest, End: end}
		for at := range m.jobs {
			if s := known.Slots[at]; at != op && s.Worker == mode.Worker && s.Start < end && s.End > o.Earliest && len(m.jobs[at].running) == 0 && !m.p.Operations[at].Pinned {
				known.Slots[at] = planner.Slot{}
				known.Left = append(known.Left, planner.Unplaced{Operation: at, Why: planner.AfterHorizon})
			}
		}
		known.Left = slices.DeleteFunc(known.Left, func(u planner.Unplaced) bool { return u.Operation == op })
	}
}

// until is when work ends that somebody begins at a minute; false: they are not there then, or have to stop in between.
func (m *maker) until(mode planner.Mode, start planner.Minute, splittable bool) (planner.Minute, bool) {
	if mode.Worker == planner.NoWorker {
		return start + mode.Minutes, true
	}
	left, began := mode.Minutes, false
	for _, w := range m.p.Workers[mode.Worker].Calendar {
		if w.End <= start {
			continue
		}
		if !began && w.Start > start {
			return 0, false
		}
		from := max(start, w.Start)
		if began = true; from+left <= w.End {
			return from + left, true
		}
		if left -= w.End - from; !splittable {
			return 0, false
		}
	}
	return 0, false
}

// waits reports whether what a job waits for keeps it from beginning when it is pinned.
func (m *maker) waits(op int, known *planner.Plan) bool {
	for _, l := range m.p.Lags {
		if l.To == op && known.Slots[l.From].End+l.Min > m.p.Operations[op].Earliest {
			return true
		}
	}
	return false
}
