package planner

import (
	"cmp"
	"slices"

	"tackfree/pkg/fault"
)

// Validate says by the rules alone whether a plan keeps them. It shares no code with what makes plans: whatever the
// search believes of itself is believed here only when it is so. What the plan leaves out is not looked at, nor the
// longest waits that it says it missed. Faults: PLAN_BROKEN.
//
// The rules: what is fixed is where it was fixed. All else begins at or after now, its release and its own earliest,
// ends by the horizon, is done in one of its modes at one of its stations, and takes as long as that mode does: attended work while
// everybody is there and the station is open, over pauses only if it may be split; unattended work by the clock, begun while
// the station is open. Nobody does two things at once, no station holds more than it can, and it is cleaned between
// colours. Lags are kept; one that leads to something fixed has no least wait any more.
func Validate(p *Problem, plan *Plan) error {
	if len(plan.Slots) != len(p.Operations) {
		return wrong("A plan of %d operations is none of a problem of %d.", len(plan.Slots), len(p.Operations))
	}
	v := &validator{p: p, plan: plan, out: make([]bool, len(p.Operations)), fixed: make([]bool, len(p.Operations)), missed: make([]bool, len(p.Lags))}
	for _, u := range plan.Left {
		v.out[u.Operation] = true
	}
	for _, l := range plan.Missed {
		v.missed[l] = true
	}
	for _, f := range p.Fixed {
		if v.fixed[f.Operation] = true; plan.Slots[f.Operation] != f.Slot {
			return wrong("Operation %s is fixed and was moved.", p.Operations[f.Operation].ID)
		}
	}
	for op := range p.Operations {
		if v.out[op] || v.fixed[op] {
			continue
		}
		if err := v.operation(op); err != nil {
			return err
		}
	}
	return cmp.Or(v.hands(), v.stations(), v.lags())
}

type validator struct {
	p          *Problem
	plan       *Plan
	out, fixed []bool // of each operation: it is left out; it is fixed
	missed     []bool // of each lag
}

func wrong(format string, args ...any) error {
	return fault.New(fault.Invalid, "PLAN_BROKEN", format, args...)
}

func (v *validator) operation(op int) error {
	o, s := &v.p.Operations[op], v.plan.Slots[op]
	if s.Start < max(v.p.Now, v.p.Pieces[o.Piece].Release, o.Earliest) || s.End > v.p.Horizon {
		return wrong("Operation %s is done from %d to %d, which is too soon or too late.", o.ID, s.Start, s.End)
	}
	err := wrong("Operation %s is done by somebody, or at a station, of none of its modes.", o.ID)
	if (s.Station == NoStation) != (len(o.Stations) == 0) {
		return err
	}
	for i := range o.Modes { // the same hands may have several
		if m := &o.Modes[i]; m.Worker == s.Worker {
			if err = v.mode(o, s, m); err == nil {
				return nil
			}
		}
	}
	return err
}

// mode looks at an operation as done in one of its modes.
func (v *validator) mode(o *Operation, s Slot, m *Mode) error {
	at := o.Stations
	if m.Stations != nil {
		at = m.Stations
	}
	if s.Station != NoStation && !slices.Contains(at, s.Station) {
		return wrong("Operation %s is done at station %s, which is none of its mode's.", o.ID, v.p.Stations[s.Station].ID)
	}
	return v.duration(o, s, m.Minutes)
}

// duration looks at how long an operation takes.
func (v *validator) duration(o *Operation, s Slot, minutes int) error {
	var station []Calendar
	if s.Station != NoStation && v.p.Stations[s.Station].Calendar != nil {
		station = append(station, v.p.Stations[s.Station].Calendar)
	}
	if s.Worker == NoWorker {
		if s.End-s.Start != minutes || !isOpen(station, s.Start) {
			return wrong("Operation %s takes %d minutes and not %d, or begins while its station is closed.", o.ID, s.End-s.Start, minutes)
		}
		return nil
	}
	all := station
	for _, w := range append([]int{s.Worker}, o.With...) {
		if c := v.p.Workers[w].Calendar; c != nil {
			all = append(all, c)
		}
	}
	if worked := openFor(all, s.Start, s.End); worked != minutes || (worked < s.End-s.Start && !o.Splittable) {
		return wrong("Operation %s is worked on for %d minutes of %d from %d to %d.", o.ID, worked, minutes, s.Start, s.End)
	}
	if minutes > 0 && (!isOpen(all, s.Start) || !isOpen(all, s.End-1)) {
		return wrong("Operation %s begins or ends while somebody is not there.", o.ID)
	}
	return nil
}

func isOpen(all []Calendar, t Minute) bool { return openFor(all, t, t+1) == 1 }

// openFor counts the minutes of a stretch in which all calendars are open: from one of their edges to the next.
func openFor(all []Calendar, start, end Minute) (sum int) {
	for t := start; t < end; {
		until, open := end, true
		for _, c := range all {
			i, _ := slices.BinarySearchFunc(c, t, func(w Window, t Minute) int { return cmp.Compare(w.End, t+1) })
			switch {
			case i == len(c):
				open = false
			case t < c[i].Start:
				open, until = false, min(until, c[i].Start)
			default:
				until = min(until, c[i].End)
			}
		}
		if open {
			sum += until - t
		}
		t = until
	}
	return sum
}

// hands looks for somebody who does two things at once.
func (v *validator) hands() error {
	of := make([][]int, len(v.p.Workers))
	for op, s := range v.plan.Slots {
		if v.out[op] || s.Start == s.End {
			continue
		}
		for _, w := range append([]int{s.Worker}, v.p.Operations[op].With...) {
			if w != NoWorker {
				of[w] = append(of[w], op)
			}
		}
	}
	for w, ops := range of {
		v.sort(ops)
		for i := 1; i < len(ops); i++ {
			if v.plan.Slots[ops[i]].Start < v.plan.Slots[ops[i-1]].End {
				return wrong("Worker %s does %s and %s at once.", v.p.Workers[w].ID, v.p.Operations[ops[i-1]].ID, v.p.Operations[ops[i]].ID)
			}
		}
	}
	return nil
}

func (v *validator) sort(ops []int) {
	slices.SortFunc(ops, func(a, b int) int { return cmp.Compare(v.plan.Slots[a].Start, v.plan.Slots[b].Start) })
}

// stations looks for one that holds too much, or that is not cleaned.
func (v *validator) stations() error {
	of := make([][]int, len(v.p.Stations))
	for op, s := range v.plan.Slots {
		if !v.out[op] && s.Station != NoStation && s.Start < s.End {
			of[s.Station] = append(of[s.Station], op)
		}
	}
	for i, ops := range of {
		v.sort(ops)
		if err := v.held(&v.p.Stations[i], ops); err != nil {
			return err
		}
	}
	return nil
}

// held looks at each operation's start, at which a station holds most.
func (v *validator) held(s *Station, ops []int) error {
	var running []int
	for _, op := range ops {
		o, start, held := &v.p.Operations[op], v.plan.Slots[op].Start, v.p.Operations[op].Demand
		running = slices.DeleteFunc(running, func(other int) bool { return v.plan.Slots[other].End <= start })
		for _, other := range running {
			held += v.p.Operations[other].Demand
		}
		if held > s.Capacity {
			return wrong("Station %s holds %d of %d when %s begins.", s.ID, held, s.Capacity, o.ID)
		}
		running = append(running, op)
		if s.Changeover == nil {
			continue
		}
		for _, other := range ops {
			was := v.plan.Slots[other]
			if was.Start < start && (!v.fixed[op] || !v.fixed[other]) && start-was.End < s.Changeover[v.p.Operations[other].Colour][o.Colour] {
				return wrong("Station %s is not cleaned between %s and %s.", s.ID, v.p.Operations[other].ID, o.ID)
			}
		}
	}
	return nil
}

func (v *validator) lags() error {
	for i, l := range v.p.Lags {
		if v.out[l.From] || v.out[l.To] {
			continue
		}
		gap := v.plan.Slots[l.To].Start - v.plan.Slots[l.From].End
		if (gap < l.Min && !v.fixed[l.To]) || (l.Max != Forever && gap > l.Max && !v.missed[i]) {
			return wrong("Operation %s begins %d minutes after %s, and not %d to %d.", v.p.Operations[l.To].ID, gap, v.p.Operations[l.From].ID, l.Min, l.Max)
		}
	}
	return nil
}
