package planner

import "slices"

// scale says what a slot is: so many minutes, counted from an instant. A floor is planned in slots, the longest
// that every time of it is whole in; fewer of them make shorter timelines.
type scale struct {
	origin Minute
	step   int
}

func (s scale) minutes(slots int) Minute { return slots*s.step + s.origin }

// down gives the slot that holds a minute.
func (s scale) down(t Minute) int { return floorDiv(t-s.origin, s.step) }

func floorDiv(a, b int) int {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// divisor gathers the greatest common divisor of what it is shown.
type divisor int

func (d *divisor) show(t int) {
	a, b := int(*d), max(t, -t)
	for b != 0 {
		a, b = b, a%b
	}
	*d = divisor(a)
}

// scaleOf finds the scale of a problem: everything from now on is whole in its slots, plans too.
func scaleOf(p *Problem, plans ...*Plan) scale {
	d := divisor(0)
	later := func(t Minute) { d.show(max(0, t-p.Now)) }
	show := func(c Calendar) {
		for _, w := range c {
			later(w.Start)
			later(w.End)
		}
	}
	for i := range p.Workers {
		show(p.Workers[i].Calendar)
	}
	for i := range p.Stations {
		show(p.Stations[i].Calendar)
		for _, minutes := range slices.Concat(p.Stations[i].Changeover...) {
			d.show(minutes)
		}
	}
	for i := range p.Pieces {
		later(p.Pieces[i].Release)
	}
	for i := range p.Operations {
		later(p.Operations[i].Earliest)
		for _, m := range p.Operations[i].Modes {
			d.show(m.Minutes)
		}
	}
	for _, l := range p.Lags {
		d.show(l.Min)
	}
	for _, f := range p.Fixed {
		d.show(f.Start - p.Now)
		d.show(f.End - p.Now)
	}
	for _, plan := range plans {
		if plan != nil {
			for _, at := range plan.Slots {
				d.show(at.Start - p.Now)
				d.show(at.End - p.Now)
			}
		}
	}
	return scale{p.Now, max(1, int(d))}
}

// scaled gives the problem in slots. Promises are rounded down: they only guide here, what a plan costs is
// counted in minutes.
func (s scale) scaled(p *Problem) *Problem {
	out := &Problem{Now: 0, Horizon: s.down(p.Horizon), Workers: make([]Worker, len(p.Workers)), Stations: make([]Station, len(p.Stations)),
		Pieces: make([]Piece, len(p.Pieces)), Operations: make([]Operation, len(p.Operations)), Lags: make([]Lag, len(p.Lags)), Fixed: make([]Fixed, len(p.Fixed))}
	for i, w := range p.Workers {
		out.Workers[i] = Worker{w.ID, s.calendar(w.Calendar, p.Horizon)}
	}
	for i, st := range p.Stations {
		out.Stations[i] = Station{st.ID, st.Capacity, s.calendar(st.Calendar, p.Horizon), s.changeover(st.Changeover)}
	}
	for i, x := range p.Pieces {
		out.Pieces[i] = Piece{x.ID, s.down(x.Release), s.down(x.Due), x.Weight}
		if x.Due == NoDue {
			out.Pieces[i].Due = NoDue
		}
	}
	s.operations(p, out)
	for i, l := range p.Lags {
		out.Lags[i] = Lag{l.From, l.To, l.Min / s.step, l.Max / s.step}
		if l.Max == Forever {
			out.Lags[i].Max = Forever
		}
	}
	for i, f := range p.Fixed {
		out.Fixed[i] = Fixed{f.Operation, Slot{f.Worker, f.Station, s.down(f.Start), s.down(f.End)}}
	}
	return out
}

func (s scale) operations(p, out *Problem) {
	n := 0
	for i := range p.Operations {
		n += len(p.Operations[i].Modes)
	}
	modes := make([]Mode, 0, n)
	for i, o := range p.Operations {
		first := len(modes)
		for _, m := range o.Modes {
			modes = append(modes, Mode{m.Worker, m.Minutes / s.step, m.Stations})
		}
		out.Operations[i] = o
		out.Operations[i].Modes, out.Operations[i].Earliest = modes[first:len(modes):len(modes)], s.down(o.Earliest)
	}
}

// calendar gives what is left of a calendar from the origin to the horizon, which alone may lie within a slot.
func (s scale) calendar(c Calendar, horizon Minute) Calendar {
	if c == nil {
		return nil
	}
	out := make(Calendar, 0, len(c))
	for _, w := range c {
		if w = (Window{s.down(max(w.Start, s.origin)), s.down(min(w.End, horizon))}); w.Start < w.End {
			out = append(out, w)
		}
	}
	return out
}

func (s scale) changeover(minutes [][]int) (out [][]int) {
	for _, from := range minutes {
		slots := make([]int, len(from))
		for to, m := range from {
			slots[to] = m / s.step
		}
		out = append(out, slots)
	}
	return out
}
