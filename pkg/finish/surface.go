package finish

import "time"

// surface is a part as it stands before a step.
type surface struct {
	Assessment
	kind     Species // of the wood
	old      chemistry
	palette  Palette // what remedies take from
	tested   bool    // for lead
	clean    bool
	polished bool // wax or polish lay on it, which may have held silicone
	stripped bool // and not washed yet
	off      bool // the old coating came off
	wet      bool // the wood
	damp     time.Duration
	bare     bool
	sanded   bool    // the bare wood
	grit     Grit    // of the last sanding of bare wood
	worn     float64 // µm of veneer that sanding took
	raised   bool    // the grain was raised and knocked down
	opened   bool    // the pores were
	wiped    bool    // with solvent, and not sanded since
	left     repairs
	rough    bool // filler or a patch stands proud
	dusty    bool
	scuffed  bool // since the last layer
	blocked  bool // a layer holds tannin and old colour back
	shut     bool // a layer holds smells back
	filmed   bool // a layer lies on the wood, and not in it
	spotted  bool // knots and pitch are sealed
	unwiped  bool // what was to be wiped off lies there still
	masked   bool
	overTape bool // the tape sticks on a film of ours, whose next coat would lie on it
	edge     bool // a coat lies over the tape's edge
	top      Product
	film     chemistry // of top
	primer   bool      // top is a stain-blocking primer
	coated   bool      // top is a layer of ours
	colour   bool      // top is a stain, glaze or toner, which scuffing would cut through
	doubt    bool      // the first film lies on a doubtful ground, and nobody tried its hold
	filmless bool      // top is in the wood and leaves no film: an iron solution, or a dye
	waited   time.Duration
	uncured  time.Duration // until the last of all coats that lie there has cured
	cures    time.Duration // the longest of their times
}

func begin(a Assessment, p Palette) *surface {
	return &surface{Assessment: a, kind: a.wood(), old: oldFilm(a.OldFinish), palette: p, bare: a.OldFinish == "", tested: a.Lead != LeadUntested,
		polished: a.Waxed, left: a.repairs()}
}

// below is the film that the next layer would lie on, if there is one.
func (s *surface) below() (chemistry, bool) {
	switch {
	case s.coated:
		return s.film, !s.filmless
	case !s.bare:
		return s.old, true
	}
	return chemistry{}, false
}

// do is what a step makes of the surface.
func (s *surface) do(n *next) {
	switch n.Kind {
	case LeadTest:
		s.tested = true
	case Clean:
		s.clean, s.Waxed = true, false
	case Strip:
		s.strip()
	case WashOff:
		s.stripped, s.wet, s.damp = false, true, afterWash
	case DryOut:
		s.wet = false
	case WipeSolvent:
		s.wiped = true
	case GlueClamp:
		s.left.glue = false
	case Inspect:
		s.doubt = s.doubt && n.Point != PointAdhesion
	case WipeOff:
		s.unwiped, s.waited = false, 0
	case Mask:
		s.masked, s.overTape = true, s.coated
	case Unmask:
		s.masked, s.overTape, s.edge = false, false, false
	default:
		s.work(n)
	}
	s.pass(n.Wait)
}

// work is what a step on the bare surface or its film makes of it.
func (s *surface) work(n *next) {
	switch n.Kind {
	case Sand:
		s.sanded, s.grit, s.rough, s.wiped = true, n.Grit, false, false
		s.worn += sizes[n.Grit]
	case ScuffSand:
		s.scuffed, s.rough = true, false
	case RaiseGrain:
		s.raised, s.wet, s.damp, s.sanded, s.wiped = true, true, afterRaising, false, false
	case OpenPores:
		s.opened = true
	case VeneerRepair:
		s.left.patch, s.rough, s.sanded = false, true, false
	case Fill:
		s.left.fill, s.rough, s.sanded = false, true, false
	case DustOff:
		s.dusty = false
	case SpotSeal:
		s.spotted = true
	}
	s.dusty = s.dusty || n.is.dry
	if n.is.layer {
		s.coat(n)
	}
}

// strip takes all that lies on the surface off.
func (s *surface) strip() {
	s.bare, s.stripped, s.off, s.clean, s.Waxed = true, true, true, true, false
	s.sanded, s.raised, s.opened, s.wiped, s.rough, s.scuffed = false, false, false, false, false, false
	s.coated, s.colour, s.filmless, s.unwiped, s.primer = false, false, false, false, false
	s.blocked, s.shut, s.filmed, s.spotted, s.grit = false, false, false, false, Grit{}
	s.doubt, s.uncured, s.cures = false, 0, 0
}

func (s *surface) coat(n *next) {
	s.blocked = s.blocked || n.Product.BlocksStains
	s.shut = s.shut || n.Product.Family == Shellac || n.Product.Family == DewaxedShellac
	s.doubt = s.doubt || s.doubtful(n)
	s.filmed = s.filmed || !n.is.soaks
	s.edge = s.edge || s.overTape
	s.top, s.film, s.coated, s.bare, s.scuffed, s.rough, s.waited = n.Product, n.film, true, false, false, false, 0
	s.colour, s.unwiped, s.filmless = colours[n.Kind], n.Kind == LimingCoat, n.Kind == Ebonise
	s.primer = n.Product.BlocksStains && (n.Kind == Prime || n.Kind == BlockStains)
	s.uncured, s.cures = max(s.uncured, n.Product.Cure), max(s.cures, n.Product.Cure)
}
