package finish

import "time"

// surface is a part as it stands before a step.
type surface struct {
	Assessment
	kind     Species // of the wood
	palette  Palette // what remedies take from
	tested   bool    // for lead
	clean    bool
	polished bool // wax or polish lay on it, which may have held silicone
	stripped bool // and not washed yet
	wet      bool // the wood
	bare     bool
	sanded   bool    // the bare wood
	grit     Grit    // of the last sanding of bare wood
	worn     float64 // µm of veneer that sanding took
	raised   bool    // the grain was raised and knocked down
	opened   bool    // the pores were
	dusty    bool
	scuffed  bool // since the last layer
	blocked  bool // a layer holds tannin and old colour back
	spotted  bool // knots and pitch are sealed
	unwiped  bool // what was to be wiped off lies there still
	masked   bool
	overTape bool // the tape sticks on a film of ours, whose next coat would lie on it
	top      Product
	coated   bool // top is a layer of ours
	colour   bool // top is a stain, glaze or toner, which scuffing would cut through
	filmless bool // top is in the wood and leaves no film: an iron solution, or a dye
	waited   time.Duration
}

func begin(a Assessment, p Palette) *surface {
	return &surface{Assessment: a, kind: a.wood(), palette: p, bare: a.OldFinish == "", tested: a.Lead != LeadUntested, polished: a.Waxed}
}

// below is the film that the next layer would lie on, if there is one.
func (s *surface) below() (Family, bool) {
	switch {
	case s.coated && s.filmless:
		return "", false
	case s.coated:
		return s.top.Family, true
	case !s.bare:
		return s.OldFinish, true
	}
	return "", false
}

// do is what a step makes of the surface.
func (s *surface) do(st Step) {
	switch st.Kind {
	case LeadTest:
		s.tested = true
	case Clean:
		s.clean, s.Waxed = true, false
	case Strip:
		s.bare, s.stripped, s.sanded, s.raised, s.opened, s.coated, s.Waxed, s.clean = true, true, false, false, false, false, false, true
	case WashOff:
		s.stripped, s.wet = false, true
	case DryOut:
		s.wet = false
	case Sand:
		s.sanded, s.grit, s.dusty = true, st.Grit, true
		s.worn += sizes[st.Grit]
	case RaiseGrain:
		s.raised, s.wet, s.sanded = true, true, false
	case OpenPores:
		s.opened, s.dusty = true, true
	case ScuffSand:
		s.scuffed, s.dusty = true, true
	case DustOff:
		s.dusty = false
	case SpotSeal:
		s.spotted = true
	case WipeOff:
		s.unwiped, s.waited = false, 0
	case Mask:
		s.masked, s.overTape = true, s.coated
	case Unmask:
		s.masked, s.overTape = false, false
	}
	if layers[st.Kind] {
		s.coat(st)
	}
	s.waited += st.Wait
}

func (s *surface) coat(st Step) {
	s.blocked = s.blocked || st.Product.BlocksStains
	s.top, s.coated, s.bare, s.scuffed, s.waited = st.Product, true, false, false, 0
	s.colour, s.unwiped, s.filmless = colours[st.Kind], st.Kind == LimingCoat, st.Kind == Ebonise
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
func (s *surface) needs(n Step) Needs {
	link, _ := s.link(n)
	switch {
	case !s.coated:
		return NeedsNothing
	case n.Kind == WaxCoat && s.rubs(), link == Cured:
		return NeedsCured
	case layers[n.Kind], n.Kind == Mask:
		return NeedsRecoat
	case abrades(n.Kind):
		return NeedsSand
	}
	return NeedsNothing
}

// waitFor lets the film below come to what a stage needs of it.
func (s *surface) waitFor(n Needs) {
	switch {
	case !s.coated:
	case n == NeedsCured:
		s.waited = max(s.waited, s.top.Cure)
	case n != NeedsNothing:
		s.waited = max(s.waited, s.top.Recoat)
	}
}
