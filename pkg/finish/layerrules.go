package finish

// bleeds reports a surface through which colour comes up into a light water-borne film.
func (s *surface) bleeds() bool {
	return (s.kind.Tannin || s.kind.Resin || s.OldStain) && !s.blocked
}

func (s *surface) link(n Step) (Link, bool) {
	below, there := s.below()
	if !there || !layers[n.Kind] {
		return Bonds, false
	}
	return bond(below, n.Product.Family), true
}

// melts reports a coat that dissolves into the one below, which needs no scuffing for it.
func (s *surface) melts(n Step) bool {
	return s.coated && s.top.Family == n.Product.Family && families[n.Product.Family].burnsIn
}

// late reports a coat after the window in which the one below takes it as it is.
func (s *surface) late() bool {
	return s.coated && s.top.RecoatCloses > 0 && s.waited > s.top.RecoatCloses
}

// layerRules are which coat goes over which, and when.
func layerRules() []Rule {
	return []Rule{
		{ID: "bleed-through", Severity: Stop, Says: "A light water-borne film over wood that bleeds needs a stain block.",
			Why: "Water draws tannin, resin and old colour up, and they stain the paint for good.", Instead: "Seal with shellac or a solvent-borne stain-blocking primer first, in thin coats.",
			broken: func(s *surface, n Step) bool {
				return layers[n.Kind] && n.Product.Light && families[n.Product.Family].water && s.bleeds()
			},
			remedy: func(s *surface, _ Step) []Step {
				p := s.palette.block()
				return []Step{{Kind: BlockStains, Product: p, Wait: p.Recoat, Why: "the wood would bleed into the light paint, so its colour is sealed in"}}
			}},
		{ID: "recoat-too-early", Severity: Stop, Says: "No coat goes on before the one below takes it.",
			Why: "The solvent below stays in; the film stays soft, wrinkles or cracks.", Instead: "Wait until it is dry to recoat.",
			broken: func(s *surface, n Step) bool {
				return s.coated && (layers[n.Kind] || n.Kind == ScuffSand) && s.waited < s.top.Recoat
			},
			remedy: func(s *surface, _ Step) []Step {
				return []Step{{Kind: Dry, Wait: s.top.Recoat - s.waited, Why: "the coat below dries until it takes another"}}
			}},
		{ID: "never-over", Severity: Stop, Says: "Some films hold on no other, and nothing holds on some.",
			Why: "Nothing but wax holds on wax, and an oil needs wood to soak into.", Instead: "Take the lower film off, or choose another product.",
			broken: func(s *surface, n Step) bool { l, over := s.link(n); return over && l == Never && s.coated }},
		{ID: "never-over-old", Severity: Stop, Says: "An old finish on which the new one does not hold comes off.",
			Why: "The new film would peel.", Instead: "Strip the old finish.",
			broken: func(s *surface, n Step) bool { l, over := s.link(n); return over && l == Never && !s.coated },
			remedy: one(Strip, "the new coat does not hold on the old finish, so that comes off")},
		{ID: "hot-solvent", Severity: Stop, Says: "Hot solvents do not go over oil or alkyd that has not cured.",
			Why: "Lacquer and two-part thinners swell it, and it wrinkles; the alcohol of shellac is mild.", Instead: "Put a coat of dewaxed shellac between them.",
			broken: func(s *surface, n Step) bool {
				return layers[n.Kind] && families[n.Product.Family].hot && s.coated && !s.filmless && families[s.top.Family].selfHeats && s.waited < s.top.Cure
			},
			remedy: tie("lacquer would wrinkle the fresh oil below; shellac keeps its solvents off")},
		{ID: "tie-coat", Severity: Stop, Says: "Between films that do not hold on each other goes a tie coat.",
			Why: "Dewaxed shellac holds on nearly all films, and nearly all hold on it.", Instead: "Brush or spray one thin coat of dewaxed shellac between them.",
			broken: func(s *surface, n Step) bool { l, over := s.link(n); return over && l == Tied },
			remedy: tie("the next coat does not hold on the one below; dewaxed shellac holds on both")},
		{ID: "cured-below", Severity: Stop, Says: "Some films go only over one that has cured.",
			Why: "Over one that is merely dry they wrinkle it, or peel.", Instead: "Let the film below cure, or put a tie coat of dewaxed shellac between them.",
			broken: func(s *surface, n Step) bool {
				l, over := s.link(n)
				return over && l == Cured && s.coated && s.waited < s.top.Cure
			},
			remedy: func(s *surface, _ Step) []Step {
				return []Step{{Kind: Cure, Wait: s.top.Cure - s.waited, Why: "the film below cures before another kind goes over it"}}
			}},
		{ID: "scuff-between", Severity: Caution, Says: "A film that does not melt into the one below needs it dulled.",
			Why: "It holds by the scratches alone.", Instead: "Scuff with P320 or finer, without cutting through.",
			broken: func(s *surface, n Step) bool {
				l, over := s.link(n)
				needs := (l == Scuffed || l == Cured || s.late() && n.Product.Family != Wax) && !s.melts(n)
				return over && needs && !s.scuffed && !s.colour
			},
			remedy: func(*surface, Step) []Step {
				return []Step{{Kind: ScuffSand, Grit: P(320), Why: "the next coat holds by fine scratches in the film below"}}
			}},
		{ID: "scuff-smooth", Severity: Caution, Says: "Laminate and metal are dulled before their first coat.",
			Why: "A film does not hold on what is smooth and soaks nothing up.", Instead: "Scuff with P320 or finer and use a primer that holds on it.",
			broken: func(s *surface, n Step) bool {
				return layers[n.Kind] && s.bare && !s.scuffed && (s.Material == Laminate || s.Material == Metal)
			},
			remedy: func(*surface, Step) []Step {
				return []Step{{Kind: ScuffSand, Grit: P(320), Why: "a film holds on laminate and metal by fine scratches alone"}}
			}},
	}
}

// tie puts a coat of dewaxed shellac between two films.
func tie(why string) func(*surface, Step) []Step {
	return func(s *surface, _ Step) []Step {
		p := s.palette.tie()
		return []Step{{Kind: TieCoat, Product: p, Wait: p.Recoat, Why: why}}
	}
}
