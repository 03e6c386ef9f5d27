package planner

import (
	"slices"

	"tackfree/pkg/fault"
)

// malformed is a fault of the caller's, who made the problem.
func malformed(format string, args ...any) error {
	return fault.New(fault.Invalid, "PROBLEM_MALFORMED", format, args...)
}

const (
	longest = 1 << 30 // minutes that can be planned: two thousand years
	most    = 1 << 15 // units of a station
)

// check finds what no plan can be made of.
func (p *Problem) check() error {
	if p.Horizon-p.Now > longest {
		return malformed("From %d to %d minutes is too long to plan.", p.Now, p.Horizon)
	}
	for _, w := range p.Workers {
		if err := w.Calendar.check("of worker " + w.ID); err != nil {
			return err
		}
	}
	for _, s := range p.Stations {
		if err := s.Calendar.check("of station " + s.ID); err != nil {
			return err
		}
		if s.Capacity < 1 || s.Capacity > most {
			return malformed("Station %s holds nothing, or more than %d.", s.ID, most)
		}
		if err := s.checkChangeover(); err != nil {
			return err
		}
	}
	for i := range p.Operations {
		if err := p.checkOperation(&p.Operations[i]); err != nil {
			return err
		}
	}
	for _, l := range p.Lags {
		if l.From < 0 || l.From >= len(p.Operations) || l.To < 0 || l.To >= len(p.Operations) || l.From == l.To || l.Min < 0 || (l.Max != Forever && l.Max < l.Min) {
			return malformed("A lag from operation %d to %d of %d to %d minutes is none.", l.From, l.To, l.Min, l.Max)
		}
	}
	for _, f := range p.Fixed {
		if f.Operation < 0 || f.Operation >= len(p.Operations) || f.End < f.Start || f.End-p.Now > longest || p.Now-f.Start > longest || f.Worker >= len(p.Workers) || f.Station >= len(p.Stations) {
			return malformed("Operation %d is fixed where nothing can be.", f.Operation)
		}
		if f.Station >= 0 {
			if err := p.checkColour(&p.Operations[f.Operation], f.Station); err != nil {
				return err
			}
		}
	}
	return nil
}

func (p *Problem) checkOperation(o *Operation) error {
	if o.Piece < 0 || o.Piece >= len(p.Pieces) {
		return malformed("Operation %s is of no piece.", o.ID)
	}
	if w := p.Pieces[o.Piece].Weight; w <= 0 {
		return malformed("Piece %s has no weight.", p.Pieces[o.Piece].ID)
	}
	for _, m := range o.Modes {
		if m.Worker < NoWorker || m.Worker >= len(p.Workers) || m.Minutes < 0 {
			return malformed("Operation %s has a mode of no worker, or of less than no time.", o.ID)
		}
		if slices.Contains(o.With, m.Worker) || slices.ContainsFunc(m.Stations, func(s int) bool { return !slices.Contains(o.Stations, s) }) {
			return malformed("Operation %s has a mode of somebody twice, or at a station that is none of its own.", o.ID)
		}
	}
	if slices.ContainsFunc(o.With, func(w int) bool { return w < 0 || w >= len(p.Workers) }) {
		return malformed("Operation %s takes the hands of no worker.", o.ID)
	}
	for _, s := range o.Stations {
		if s < 0 || s >= len(p.Stations) || o.Demand < 1 || o.Demand > p.Stations[s].Capacity {
			return malformed("Operation %s asks for more of a station than it holds.", o.ID)
		}
		if err := p.checkColour(o, s); err != nil {
			return err
		}
	}
	return nil
}

func (c Calendar) check(whose string) error {
	for i, w := range c {
		if w.End <= w.Start || (i > 0 && w.Start < c[i-1].End) {
			return malformed("The calendar %s has a window from %d to %d that is none, or that is out of order.", whose, w.Start, w.End)
		}
	}
	return nil
}
