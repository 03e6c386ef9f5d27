package floorfile

import (
	"time"

	"tackfree/pkg/planner"
)

// instance makes a File of the values of one.
type instance struct {
	reader
	*File
	calendars map[string]planner.Calendar
	even      map[int]int // of stations by index: minutes of cleaning between any two colours
	colours   int         // the most that an operation has
}

// Read reads a shop-instance/1. Faults: FLOOR_FILE_MALFORMED, with the line.
func Read(text []byte) (*File, error) {
	top, err := parse(text)
	if err != nil {
		return nil, err
	}
	r := &instance{File: &File{worker: map[string]int{}, station: map[string]int{}, piece: map[string]int{}, operation: map[string]int{}}, calendars: map[string]planner.Calendar{}, even: map[int]int{}}
	if r.text(top, "format") != InstanceFormat {
		r.refuse(top, "the format is not %s.", InstanceFormat)
	}
	r.only(top, "format", "name", "epoch", "horizon", "grid", "now", "calendars", "workers", "stations", "pieces", "frozen")
	r.Name, r.Epoch = r.text(top, "name"), r.optional(top, "epoch")
	if _, err := time.Parse(EpochLayout, r.Epoch); r.Epoch != "" && err != nil {
		r.refuse(r.field(top, "epoch"), "%q is no time such as 2026-03-02T00:00.", r.Epoch)
	}
	r.Problem.Now, r.Problem.Horizon = r.numberOr(top, "now", 0, 0), r.number(top, "horizon", 0)
	r.readCalendars(top)
	r.readResources(top)
	for _, v := range r.list(top, "pieces", true) {
		r.readPiece(v)
	}
	for s, minutes := range r.even {
		r.Problem.Stations[s].Changeover = planner.EvenChangeover(r.colours, minutes)
	}
	for _, v := range r.list(top, "frozen", false) {
		r.readFrozen(v)
	}
	if r.err != nil {
		return nil, r.err
	}
	return r.File, nil
}

func (r *instance) readCalendars(top *value) {
	all := r.must(top, "calendars")
	if all.kind != object {
		r.refuse(all, "\"calendars\" is no object.")
	}
	for _, m := range all.fields.all {
		r.calendars[m.name] = r.readCalendar(all, m.name)
	}
}

// readCalendar joins windows that touch: work does not stop between them.
func (r *instance) readCalendar(all *value, name string) planner.Calendar {
	c := planner.Calendar{}
	for _, v := range r.list(all, name, true) {
		w := r.readWindow(v)
		last := len(c) - 1
		switch {
		case last >= 0 && w.Start < c[last].End:
			r.refuse(v, "a window of calendar %q begins before the one before it ends.", name)
		case last >= 0 && w.Start == c[last].End:
			c[last].End = w.End
		default:
			c = append(c, w)
		}
	}
	return c
}

func (r *instance) readWindow(v *value) (w planner.Window) {
	if v.kind != list || len(v.items) != 2 {
		r.refuse(v, "a window is a list of two minutes.")
		return w
	}
	w = planner.Window{Start: r.whole(v.items[0], "start", 0), End: r.whole(v.items[1], "end", 0)}
	if w.End <= w.Start {
		r.refuse(v, "a window from %d to %d does not end after it begins.", w.Start, w.End)
	}
	return w
}

func (r *instance) calendar(v *value) planner.Calendar {
	name := r.optional(v, "calendar")
	if name == "" {
		return nil
	}
	c, known := r.calendars[name]
	if !known {
		r.refuse(v, "there is no calendar %q.", name)
	}
	return c
}

func (r *instance) readResources(top *value) {
	for _, v := range r.list(top, "workers", true) {
		r.only(v, "id", "calendar", "skills")
		id := r.name(v, r.worker, "worker", len(r.Problem.Workers))
		r.Problem.Workers = append(r.Problem.Workers, planner.Worker{ID: id, Calendar: r.calendar(v)})
	}
	for _, v := range r.list(top, "stations", true) {
		r.only(v, "id", "capacity", "calendar", "changeover")
		id := r.name(v, r.station, "station", len(r.Problem.Stations))
		r.Problem.Stations = append(r.Problem.Stations, planner.Station{ID: id, Capacity: r.number(v, "capacity", 1), Calendar: r.calendar(v), Changeover: r.changeover(v)})
	}
}

// changeover reads minutes from each colour to each; nil: there are none, or as many between any two.
func (r *instance) changeover(v *value) (minutes [][]int) {
	if c := r.field(v, "changeover"); c == nil || c.kind == scalar {
		if even := r.numberOr(v, "changeover", 0, 0); even > 0 {
			r.even[len(r.Problem.Stations)] = even
		}
		return nil
	}
	for _, from := range r.list(v, "changeover", false) {
		if from.kind != list {
			r.refuse(from, "\"changeover\" is no list of lists of minutes.")
			return nil
		}
		to := []int{}
		for _, m := range from.items {
			to = append(to, r.whole(m, "changeover", 0))
		}
		minutes = append(minutes, to)
	}
	return minutes
}

// name notes the index of a new id.
func (r *instance) name(v *value, known map[string]int, what string, index int) string {
	id := r.text(v, "id")
	if _, twice := known[id]; twice || id == "" {
		r.refuse(v, "the id %q is empty or stands twice; each %s has one of its own.", id, what)
	}
	known[id] = index
	return id
}

// find gives the index of a name, or -1 (no worker, no station) where it is null or missing.
func (r *instance) find(v *value, field string, known map[string]int) int {
	id := r.optional(v, field)
	if id == "" {
		return -1
	}
	i, ok := known[id]
	if !ok {
		r.refuse(v, "there is no %s %q.", field, id)
	}
	return i
}
