package finish

// coatRules are what a coat is done and left alone by.
func coatRules() []Rule {
	return []Rule{
		{ID: "grit-between-coats", Severity: Caution, Source: practice, Says: "Between coats the paper is P320 or finer.",
			Why: "Coarser scratches show through the next coat, and cut through edges.", Instead: "Use P320 to P400.",
			broken: func(s *surface, n *next) bool { return n.is.abrades && s.coated && !n.Grit.FitBetweenCoats() }},
		{ID: "scuff-through-colour", Severity: Stop, Source: practice, Says: "A stain, a glaze or a toner is not sanded.",
			Why: "The paper cuts through the colour, and light spots show.", Instead: "Seal it with a clear coat first, then scuff that.",
			broken: func(s *surface, n *next) bool { return n.is.abrades && s.colour }},
		{ID: "cure-before-use", Severity: Stop, Source: practice + "; the product's data sheet", Says: "A film cures before it is handled.",
			Why: "A film that is dry to the touch still takes prints and sticks, and one below it that is soft gives way.", Instead: "Wait until all coats have cured before hardware, stacking and delivery.",
			broken: func(s *surface, n *next) bool { return n.is.handles && s.coated && s.uncured > 0 },
			remedy: func(s *surface, _ *next) []Step {
				return []Step{{Kind: Cure, Wait: s.uncured, Why: "a film that is merely dry takes prints; all coats cure before it is handled"}}
			}},
		{ID: "rub-out-cured", Severity: Caution, Source: practice, Says: "A film cures before it is rubbed out or waxed.",
			Why: "Soft film takes scratches, and wax shuts its solvent in.", Instead: "Wait until it is cured; oil, chalk-type and milk paint are waxed as soon as they are dry.",
			broken: func(s *surface, n *next) bool { return n.Kind == WaxCoat && s.rubs() && s.uncured > 0 },
			remedy: func(s *surface, _ *next) []Step {
				return []Step{{Kind: Cure, Wait: s.uncured, Why: "wax would shut solvent into a film that is merely dry"}}
			}},
		{ID: "thick-coat", Severity: Caution, Source: practice, Says: "No coat stands thicker than 150 µm (6 mil) wet.",
			Why: "A thick coat runs and sags, takes far longer to dry, and may stay soft.", Instead: "Put the film on in thin coats; check with a wet film comb.",
			broken: func(_ *surface, n *next) bool { return n.is.layer && n.Product.passes() > 1 }},
	}
}
