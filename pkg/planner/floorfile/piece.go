package floorfile

import (
	"slices"

	"tackfree/pkg/planner"
)

func (r *instance) readPiece(v *value) {
	r.only(v, "id", "type", "release", "due", "weight", "ops", "lags")
	p := planner.Piece{ID: r.name(v, r.piece, "piece", len(r.Problem.Pieces)), Release: r.numberOr(v, "release", 0, 0), Due: r.numberOr(v, "due", 0, planner.NoDue), Weight: float64(r.numberOr(v, "weight", 1, 1))}
	r.Problem.Pieces = append(r.Problem.Pieces, p)
	first := len(r.Problem.Operations)
	for _, o := range r.list(v, "ops", true) {
		r.readOperation(o)
	}
	lags, before := r.list(v, "lags", false), len(r.Problem.Lags)
	for _, l := range lags {
		r.readLag(l, first)
	}
	if r.err == nil {
		if l := circle(r.Problem.Lags[before:], first, len(r.Problem.Operations)); l >= 0 {
			r.refuse(lags[l], "here operations of piece %q wait for each other in a circle.", p.ID)
		}
	}
}

const mostColours = 255 // how long cleaning takes is kept of each two

func (r *instance) readOperation(v *value) {
	r.only(v, "id", "name", "splittable", "demand", "colour", "stations", "modes")
	o := planner.Operation{ID: r.name(v, r.operation, "operation", len(r.Problem.Operations)), Piece: len(r.Problem.Pieces) - 1,
		Demand: r.numberOr(v, "demand", 1, 1), Splittable: r.yes(v, "splittable"), Colour: r.numberOr(v, "colour", 0, 0)}
	if o.Colour > mostColours {
		r.refuse(v, "the colour of operation %q is above %d.", o.ID, mostColours)
	}
	r.colours = max(r.colours, min(o.Colour, mostColours))
	for _, s := range r.list(v, "stations", false) {
		id, _ := s.scalar.(string)
		at, known := r.station[id]
		if !known || slices.Contains(o.Stations, at) {
			r.refuse(s, "operation %q is at a station that there is not, or at one twice.", o.ID)
			return
		}
		if o.Demand > r.Problem.Stations[at].Capacity {
			r.refuse(v, "operation %q asks for more of %q than it holds.", o.ID, id)
		}
		o.Stations = append(o.Stations, at)
	}
	for _, m := range r.list(v, "modes", true) {
		r.only(m, "worker", "dur")
		o.Modes = append(o.Modes, planner.Mode{Worker: r.find(m, "worker", r.worker), Minutes: r.number(m, "dur", 0)})
	}
	r.Problem.Operations, r.Titles = append(r.Problem.Operations, o), append(r.Titles, r.optional(v, "name"))
}

// readLag reads a lag between two operations of the piece whose first is given.
func (r *instance) readLag(v *value, first int) {
	r.only(v, "from", "to", "min", "max")
	l := planner.Lag{From: r.find(v, "from", r.operation), To: r.find(v, "to", r.operation), Min: r.numberOr(v, "min", 0, 0), Max: r.numberOr(v, "max", 0, planner.Forever)}
	switch {
	case l.From < first || l.To < first || l.From == l.To:
		r.refuse(v, "a lag is from one operation of its piece to another one.")
	case l.Max != planner.Forever && l.Max < l.Min:
		r.refuse(v, "a lag of %d minutes at least is longer than its most, %d.", l.Min, l.Max)
	}
	r.Problem.Lags = append(r.Problem.Lags, l)
}

// circle gives a lag of those of a piece, whose operations are from first to end, that is in a circle of them or leads
// from one to another; -1: there is none.
func circle(lags []planner.Lag, first, end int) int {
	waits, after := make([]int, end-first), make([][]int, end-first)
	for _, l := range lags {
		waits[l.To-first]++
		after[l.From-first] = append(after[l.From-first], l.To-first)
	}
	var free []int
	for op, n := range waits {
		if n == 0 {
			free = append(free, op)
		}
	}
	for i := 0; i < len(free); i++ {
		for _, next := range after[free[i]] {
			if waits[next]--; waits[next] == 0 {
				free = append(free, next)
			}
		}
	}
	return slices.IndexFunc(lags, func(l planner.Lag) bool { return waits[l.From-first] > 0 && waits[l.To-first] > 0 })
}

func (r *instance) readFrozen(v *value) {
	r.only(v, "op", "worker", "station", "start", "end")
	f := planner.Fixed{Operation: r.find(v, "op", r.operation), Slot: r.slot(v)}
	if f.Operation < 0 || slices.ContainsFunc(r.Problem.Fixed, func(other planner.Fixed) bool { return other.Operation == f.Operation }) {
		r.refuse(v, "what is frozen is one operation, once.")
	}
	if slices.ContainsFunc(r.Problem.Fixed, func(other planner.Fixed) bool {
		return other.Worker == f.Worker && f.Worker != planner.NoWorker && other.Start < f.End && f.Start < other.End
	}) {
		r.refuse(v, "worker %q is frozen at two operations at once.", r.Problem.Workers[f.Worker].ID)
	}
	r.Problem.Fixed = append(r.Problem.Fixed, f)
}

func (r *instance) slot(v *value) planner.Slot {
	s := planner.Slot{Worker: r.find(v, "worker", r.worker), Station: r.find(v, "station", r.station),
		Start: r.number(v, "start", 0), End: r.number(v, "end", 0)}
	if s.End < s.Start {
		r.refuse(v, "what is done ends after it begins.")
	}
	return s
}

// Plan reads a shop-schedule/1 of the instance: a slot for each operation. It says nothing of whether the
// slots keep what the instance asks. Faults: FLOOR_FILE_MALFORMED, with the line.
func (f *File) Plan(text []byte) (*planner.Plan, error) {
	top, err := parse(text)
	if err != nil {
		return nil, err
	}
	r := &instance{File: f}
	if r.text(top, "format") != ScheduleFormat {
		r.refuse(top, "the format is not %s.", ScheduleFormat)
	}
	if name := r.text(top, "instance"); name != f.Name {
		r.refuse(top, "this is a schedule of %q and not of %q.", name, f.Name)
	}
	plan := &planner.Plan{Slots: make([]planner.Slot, len(f.Problem.Operations))}
	seen := make([]bool, len(plan.Slots))
	for _, v := range r.list(top, "ops", true) {
		op := r.find(v, "op", f.operation)
		if op < 0 || seen[op] {
			r.refuse(v, "an operation stands here once and by its id.")
			break
		}
		seen[op], plan.Slots[op] = true, r.slot(v)
	}
	if missing := slices.Index(seen, false); missing >= 0 {
		r.refuse(top, "operation %q is missing.", f.Problem.Operations[missing].ID)
	}
	return plan, r.err
}
