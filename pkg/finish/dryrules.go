package finish

// melts reports a coat that dissolves into the one below, which needs no scuffing for it.
func (s *surface) melts(n *next) bool {
	return s.coated && s.top.Family == n.Product.Family && n.film.burnsIn
}

// late reports a coat after the window in which the one below takes it as it is.
func (s *surface) late() bool {
	return s.coated && s.top.RecoatCloses > 0 && s.waited > s.top.RecoatCloses
}

// follows reports another coat of the same paint along tape, against which nothing is
// scuffed: in its window it holds without. Common practice.
func (s *surface) follows(n *next) bool {
	return s.edge && s.top.Family == n.Product.Family && !s.late()
}

// dryRules are when a coat goes over another, and how that is dulled.
func dryRules() []Rule {
	return []Rule{
		{ID: "recoat-too-early", Severity: Stop, Source: practice + "; the product's data sheet", Says: "No coat goes on before the one below takes it.",
			Why: "The solvent below stays in; the film stays soft, wrinkles or cracks.", Instead: "Wait until it is dry to recoat.",
			broken: func(s *surface, n *next) bool {
				return s.coated && (n.is.layer || n.Kind == ScuffSand) && s.waited < s.top.Recoat
			},
			remedy: func(s *surface, _ *next) []Step {
				return []Step{{Kind: Dry, Wait: s.top.Recoat - s.waited, Why: "the coat below dries until it takes another"}}
			}},
		{ID: "cured-below", Severity: Stop, Source: practice, Says: "Some films go only over one that has cured.",
			Why: "Over one that is merely dry they wrinkle it, or peel.", Instead: "Let the films below cure, or put a tie coat of dewaxed shellac between them, whichever is sooner.",
			broken: func(s *surface, n *next) bool {
				l, over := s.link(n)
				return over && l == Cured && s.coated && s.uncured > 0
			},
			remedy: func(s *surface, n *next) []Step {
				return []Step{s.palette.between(s.film, n.film, s.uncured, max(0, s.top.Recoat-s.waited))}
			}},
		{ID: "scuff-between", Severity: Caution, Source: practice, Says: "A film that does not melt into the one below needs it dulled.",
			Why: "It holds by the scratches alone.", Instead: "Scuff with P320 or finer, without cutting through.",
			broken: func(s *surface, n *next) bool {
				l, over := s.link(n)
				needs := (l == Scuffed || l == Cured || s.late() && n.Product.Family != Wax) && !s.melts(n) && !s.follows(n)
				return over && needs && !s.scuffed && !s.colour
			},
			remedy: func(s *surface, _ *next) []Step {
				return []Step{{Kind: ScuffSand, Grit: P(320), Why: s.ifLeadFree("the next coat holds by fine scratches in the film below")}}
			}},
	}
}
