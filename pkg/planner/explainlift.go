package planner

import (
	"cmp"
	"slices"
)

// liftable lists the constraints that may be in the way of the operations, by kind.
func (e *explainer) liftable() (all []Constraint) {
	p, seen := e.c.Problem, map[Constraint]bool{}
	add := func(k ConstraintKind, i int) {
		if x := (Constraint{k, i}); !seen[x] {
			seen[x] = true
			all = append(all, x)
		}
	}
	for _, op := range e.ops {
		o := &p.Operations[op]
		if len(e.c.waysOf(op)) == 0 {
			add(NobodyAble, op)
		}
		e.hours(o, add)
		if o.Earliest > p.Now {
			add(EarliestStart, op)
		}
		if p.Pieces[o.Piece].Release > p.Now {
			add(ReleaseDate, o.Piece)
		}
		for _, l := range e.c.in[op] {
			if p.Lags[l].Max != Forever {
				add(LongestWait, l)
			}
		}
	}
	for _, f := range p.Fixed {
		if e.meets(f) {
			add(FixedWork, f.Operation)
		}
	}
	for _, r := range e.rivals {
		add(OtherWork, r)
	}
	add(PlanHorizon, 0)
	slices.SortStableFunc(all, func(a, b Constraint) int { return cmp.Compare(a.Kind, b.Kind) })
	return all
}

// hours adds whoever and whatever an operation may be at.
func (e *explainer) hours(o *Operation, add func(ConstraintKind, int)) {
	for _, m := range o.Modes {
		for _, w := range append([]int{m.Worker}, o.With...) {
			if w != NoWorker && e.c.Workers[w].Calendar != nil {
				add(WorkerHours, w)
			}
		}
	}
	for _, s := range o.Stations {
		if e.c.Stations[s].Calendar != nil {
			add(StationHours, s)
		}
		add(StationRoom, s)
		if e.c.Stations[s].Changeover != nil {
			add(Cleaning, s)
		}
	}
}

// meets tells whether something fixed may be in the way: one of the operations waits for it, or it takes from
// now on somebody or something that one of them may be at.
func (e *explainer) meets(f Fixed) bool {
	with := append([]int{f.Worker}, e.c.Operations[f.Operation].With...)
	return slices.ContainsFunc(e.ops, func(op int) bool {
		if slices.ContainsFunc(e.c.in[op], func(l int) bool { return e.c.Lags[l].From == f.Operation }) {
			return true
		}
		o := &e.c.Operations[op]
		taken := func(w int) bool { return w != NoWorker && slices.Contains(with, w) }
		return (f.End > e.c.Now || e.c.cleans(f.Station)) && (f.Station != NoStation && slices.Contains(o.Stations, f.Station) || slices.ContainsFunc(o.With, taken) ||
			slices.ContainsFunc(o.Modes, func(m Mode) bool { return taken(m.Worker) }))
	})
}

// lift makes a problem, whose slices are its own, one without a constraint.
func (p *Problem) lift(x Constraint) {
	switch x.Kind {
	case NobodyAble: // somebody of elsewhere does it in no time
		o := &p.Operations[x.Index]
		o.Modes, o.Stations, o.With = []Mode{{Worker: NoWorker}}, nil, nil
	case WorkerHours:
		p.Workers[x.Index].Calendar = nil
	case StationHours:
		p.Stations[x.Index].Calendar = nil
	case Cleaning:
		p.Stations[x.Index].Changeover = nil
	case StationRoom:
		p.Stations[x.Index].Capacity = most // colours apart, if it is cleaned
	case LongestWait:
		p.Lags[x.Index].Max = Forever
	case EarliestStart:
		p.Operations[x.Index].Earliest = p.Now
	case ReleaseDate:
		p.Pieces[x.Index].Release = p.Now
	case FixedWork: // as if it had not been
		p.Fixed = slices.DeleteFunc(p.Fixed, func(f Fixed) bool { return f.Operation == x.Index })
	case PlanHorizon:
		p.Horizon = p.atLast()
	}
}

// atLast is a minute by when all could be done one after the other, after all that anything of the problem waits for.
func (p *Problem) atLast() Minute {
	last, long := p.Horizon, 0
	after := func(c Calendar) {
		if len(c) > 0 {
			last = max(last, c[len(c)-1].End)
		}
	}
	for i := range p.Workers {
		after(p.Workers[i].Calendar)
	}
	for i := range p.Stations {
		after(p.Stations[i].Calendar)
	}
	for i := range p.Operations {
		o := &p.Operations[i]
		last = max(last, o.Earliest, p.Pieces[o.Piece].Release)
		longest := 0
		for _, m := range o.Modes {
			longest = max(longest, m.Minutes)
		}
		long += longest
	}
	for _, l := range p.Lags {
		long += l.Min
	}
	for i := range p.Stations {
		for _, minutes := range slices.Concat(p.Stations[i].Changeover...) {
			long += minutes * len(p.Operations)
		}
	}
	for _, f := range p.Fixed {
		last = max(last, f.End)
	}
	return last + long
}
