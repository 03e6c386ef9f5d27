package finish

// coatRules are what a coat is done and left alone by, and what the wood under it asks.
func coatRules() []Rule {
	return []Rule{
		{ID: "grit-between-coats", Severity: Caution, Says: "Between coats the paper is P320 or finer.",
			Why: "Coarser scratches show through the next coat, and cut through edges.", Instead: "Use P320 to P400.",
			broken: func(s *surface, n Step) bool { return n.Kind == ScuffSand && s.coated && !n.Grit.FitBetweenCoats() }},
		{ID: "scuff-through-colour", Severity: Stop, Says: "A stain, a glaze or a toner is not scuffed.",
			Why: "The paper cuts through the colour, and light spots show.", Instead: "Seal it with a clear coat first, then scuff that.",
			broken: func(s *surface, n Step) bool { return n.Kind == ScuffSand && s.colour }},
		{ID: "cure-before-use", Severity: Stop, Says: "A film cures before it is handled.",
			Why: "A film that is dry to the touch still takes prints and sticks.", Instead: "Wait until it is cured before hardware, stacking and delivery.",
			broken: func(s *surface, n Step) bool { return handles[n.Kind] && s.coated && s.waited < s.top.Cure },
			remedy: func(s *surface, _ Step) []Step {
				return []Step{{Kind: Cure, Wait: s.top.Cure - s.waited, Why: "a film that is merely dry takes prints; it cures before it is handled"}}
			}},
		{ID: "rub-out-cured", Severity: Caution, Says: "A film cures before it is rubbed out or waxed.",
			Why: "Soft film takes scratches, and wax shuts its solvent in.", Instead: "Wait until it is cured; oil, chalk-type and milk paint are waxed as soon as they are dry.",
			broken: func(s *surface, n Step) bool { return n.Kind == WaxCoat && s.rubs() && s.waited < s.top.Cure },
			remedy: func(s *surface, _ Step) []Step {
				return []Step{{Kind: Cure, Wait: s.top.Cure - s.waited, Why: "wax would shut solvent into a film that is merely dry"}}
			}},
		{ID: "thick-coat", Severity: Caution, Says: "No coat stands thicker than 150 µm (6 mil) wet.",
			Why: "A thick coat runs and sags, takes far longer to dry, and may stay soft.", Instead: "Put the film on in thin coats; check with a wet film comb.",
			broken: func(_ *surface, n Step) bool { return layers[n.Kind] && n.Product.passes() > 1 }},
		{ID: "oily-wood", Severity: Caution, Says: "Oily woods are sealed before an oil-based film.",
			Why: "The oils of teak or rosewood keep it from drying.", Instead: "Wipe with solvent and seal with dewaxed shellac.",
			broken: func(s *surface, n Step) bool {
				return layers[n.Kind] && families[n.Product.Family].selfHeats && n.Product.Family != DryingOil && s.bare && s.kind.Oily
			},
			remedy: tie("the wood's own oil would keep the film from drying")},
		{ID: "blotching", Severity: Note, Says: "Some woods take a stain in blots.",
			Why: "Their density changes from place to place.", Instead: "Try it on a hidden spot; a gel stain or a thin wash coat evens it out.",
			broken: func(s *surface, n Step) bool { return n.Kind == StainCoat && s.bare && s.kind.Blotches }},
		{ID: "open-pores", Severity: Note, Says: "Open pores show in a film unless they are filled.",
			Why: "A coat sinks into them.", Instead: "Fill the grain if the film is to be level; leave it if the pores may show.",
			broken: func(s *surface, n Step) bool { return n.Kind == TopcoatCoat && s.bare && s.kind.OpenPore }},
	}
}
