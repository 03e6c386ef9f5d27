package finish

import "time"

// How long wood dries. Common practice; a moisture meter comes before it.
const (
	afterWash    = 24 * time.Hour
	afterRaising = 2 * time.Hour // only dampened
)

// pass lets time go by.
func (s *surface) pass(d time.Duration) {
	s.waited += d
	s.uncured, s.damp = max(0, s.uncured-d), max(0, s.damp-d)
}

// tapes is how long the film on top dries before tape does not lift it: a day, unless it
// cures sooner. Common practice.
func (s *surface) tapes() time.Duration {
	return min(s.top.Cure, max(s.top.Recoat, 24*time.Hour))
}

// rubs reports a film that is rubbed out or waxed only once it has cured: all but oil, wax
// and the open films of chalk-type and milk paint, which wax finishes.
func (s *surface) rubs() bool {
	switch s.top.Family {
	case DryingOil, ChalkPaint, MilkPaint, Wax:
		return false
	}
	return s.coated
}

// needs is what the next step needs of the film below it.
func (s *surface) needs(n *next) Needs {
	link, _ := s.link(n)
	switch {
	case !s.coated:
		return NeedsNothing
	case n.Kind == WaxCoat && s.rubs(), link == Cured:
		return NeedsCured
	case n.is.layer, n.Kind == Mask, n.Kind == Inspect && n.Point == PointAdhesion:
		return NeedsRecoat
	case n.is.abrades:
		return NeedsSand
	}
	return NeedsNothing
}

// waitFor lets the films below come to what a stage needs of them: the top one to another
// coat, all of them to being cured.
func (s *surface) waitFor(n Needs) {
	switch {
	case !s.coated:
	case n == NeedsCured:
		s.pass(max(s.uncured, s.top.Cure-s.waited))
	case n != NeedsNothing:
		s.pass(max(0, s.top.Recoat-s.waited))
	}
}
