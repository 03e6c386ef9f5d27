package finish

import "time"

// surface is a part as it stands before a step.
type surface struct {
	Assessment
	tested   bool // for lead
	clean    bool
	stripped bool // and not washed yet
	wet      bool // the wood
	bare     bool
	sanded   bool // the bare wood
	grit     Grit // of the last sanding of bare wood
	raised   bool // the grain was raised and knocked down
	dusty    bool
	scuffed  bool // since the last layer
	blocked  bool // a layer holds tannin and old colour back
	top      Product
	coated   bool // top is a layer of ours
	colour   bool // top is a stain, glaze or toner, which scuffing would cut through
	waited   time.Duration
}

func begin(a Assessment) *surface {
	return &surface{Assessment: a, bare: a.OldFinish == "", tested: a.Lead != LeadUntested}
}

// below is the film that the next layer would lie on.
func (s *surface) below() (Family, bool) {
	switch {
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
		s.bare, s.stripped, s.sanded, s.raised, s.coated, s.Waxed, s.clean = true, true, false, false, false, false, true
	case WashOff:
		s.stripped, s.wet = false, true
	case DryOut:
		s.wet = false
	case Sand:
		s.sanded, s.grit, s.dusty = true, st.Grit, true
	case RaiseGrain:
		s.raised, s.wet, s.sanded = true, true, false
	case ScuffSand:
		s.scuffed, s.dusty = true, true
	case DustOff:
		s.dusty = false
	}
	if layers[st.Kind] {
		s.blocked = s.blocked || st.Product.BlocksStains
		s.top, s.coated, s.bare, s.scuffed, s.waited = st.Product, true, false, false, 0
		s.colour = st.Kind == StainCoat || st.Kind == GlazeCoat || st.Kind == TonerCoat
	}
	s.waited += st.Wait
}
