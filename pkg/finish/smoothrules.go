package finish

// smoothRules are what laminate and bare metal want under their first coat.
func smoothRules() []Rule {
	return []Rule{
		{ID: "laminate-primer", Severity: Caution, Source: practice, Says: "Laminate gets a primer that holds on it.",
			Why: "Most paint peels off melamine, however well it was dulled.", Instead: "Use a bonding primer, or dewaxed shellac.",
			broken: func(s *surface, n *next) bool {
				shellac := n.Product.Family == Shellac || n.Product.Family == DewaxedShellac
				return n.is.layer && s.bare && s.Material == Laminate && n.Kind != Prime && !n.is.soaks && !shellac
			},
			remedy: func(s *surface, n *next) []Step {
				if own := s.palette.priming("it holds on laminate, on which paint does not"); own != nil {
					return own
				}
				return tie("shellac holds on laminate, and paint on shellac")(s, n)
			}},
		{ID: "metal-primer", Severity: Stop, Source: practice, Says: "Bare metal gets a primer made for it.",
			Why:     "Paint peels off bare metal, and what is carried by water rusts iron and steel under the film.",
			Instead: "Name a primer: a rust-inhibiting one on iron and steel, a self-etching one on aluminium, zinc or brass.",
			broken: func(s *surface, n *next) bool {
				paints := n.Kind == PaintCoat || n.Kind == GlazeCoat || n.Kind == TonerCoat || n.film.water
				return n.is.layer && s.bare && s.Material == Metal && n.Kind != Prime && !n.is.soaks && paints
			},
			remedy: func(s *surface, _ *next) []Step {
				return s.palette.priming("it holds on bare metal and keeps it from rusting")
			}},
		{ID: "metal-rust", Severity: Note, Source: practice, Says: "Not each primer suits each metal.",
			Why: "One that does not stop rust lets it creep under the paint; one for steel peels off zinc.", Instead: "Read its sheet: rust-inhibiting for iron and steel, most of all under water-borne paint; self-etching for aluminium, zinc or brass. Prime on the day on which the metal was cleaned.",
			broken: func(s *surface, n *next) bool { return n.Kind == Prime && s.bare && s.Material == Metal }},
		{ID: "laminate-sanding", Severity: Stop, Source: practice, Says: "Laminate and metal are dulled, not sanded.",
			Why: "The printed layer of laminate is a fraction of a millimetre, and coarse scratches in metal show.", Instead: "Scuff with P320, or at the coarsest with P180, and use a primer that holds on it.",
			broken: func(s *surface, n *next) bool {
				coarse := n.Kind == ScuffSand && !s.coated && coarsestDulling.finer(n.Grit)
				return (n.Kind == Sand || coarse) && (s.Material == Laminate || s.Material == Metal)
			}},
		{ID: "scuff-smooth", Severity: Caution, Source: practice, Says: "Laminate and metal are dulled before their first coat.",
			Why: "A film does not hold on what is smooth and soaks nothing up.", Instead: "Scuff with P320 or finer and use a primer that holds on it.",
			broken: func(s *surface, n *next) bool {
				return n.is.layer && s.bare && !s.scuffed && (s.Material == Laminate || s.Material == Metal)
			},
			remedy: func(*surface, *next) []Step {
				return []Step{{Kind: ScuffSand, Grit: P(320), Why: "a film holds on laminate and metal by fine scratches alone"}}
			}},
	}
}
