package finish

import "time"

// groundRules are what comes before wood is sanded.
func groundRules() []Rule {
	return []Rule{
		{ID: "clean-first", Severity: Stop, Says: "Dirt, wax and grease come off before anything else.",
			Why: "Sanding drives dirt, wax and silicone into the wood, and no film holds on them.", Instead: "Clean and degrease; take wax off with mineral spirits.",
			broken: func(s *surface, n Step) bool {
				return (touches(n.Kind) || n.Kind == Strip) && (!s.clean || s.Waxed)
			},
			remedy: one(Clean, "dirt and wax come off first, or they are sanded in")},
		{ID: "stain-bare-wood", Severity: Stop, Says: "A stain needs bare wood.",
			Why: "It colours by soaking in, which it cannot through a film.", Instead: "Strip the old finish; or keep it and colour with a glaze or a toner.",
			broken: func(s *surface, n Step) bool { return soaks[n.Kind] && !s.bare && !s.coated },
			remedy: one(Strip, "a stain colours by soaking in, so the old finish comes off")},
		{ID: "stain-under-film", Severity: Stop, Says: "A stain does not go over a film.",
			Why: "It cannot soak in, and nothing holds on what stays on top.", Instead: "Put the stain before the first coat, or use a glaze or a toner.",
			broken: func(s *surface, n Step) bool { return inWood(n.Kind) && s.coated && !s.colour }},
		{ID: "stain-wood-only", Severity: Stop, Says: "Only wood takes a stain.",
			Why: "Laminate, metal and MDF do not soak it up, or only in blots.", Instead: "Paint the part, or colour it with a toner over a sealed surface.",
			broken: func(s *surface, n Step) bool { return soaks[n.Kind] && !s.wooden() }},
		{ID: "wash-after-strip", Severity: Stop, Says: "What a stripper leaves is washed off.",
			Why: "Its residue keeps films from drying and from holding.", Instead: "Neutralise or wash off as the stripper's sheet says.",
			broken: func(s *surface, n Step) bool { return s.stripped && (touches(n.Kind) || n.Kind == DryOut) },
			remedy: one(WashOff, "the stripper's residue would keep the finish from drying")},
		{ID: "dry-wood", Severity: Stop, Says: "Wet wood dries before it is sanded or coated.",
			Why: "Sanding wet wood tears its fibres and clogs the paper; a film over it blisters.", Instead: "Wait until the wood is near the moisture that the shop's air gives it.",
			broken: func(s *surface, n Step) bool { return s.wet && touches(n.Kind) && n.Kind != RaiseGrain },
			remedy: func(s *surface, _ Step) []Step {
				wait := 24 * time.Hour // common practice after washing
				if s.raised {
					wait = 2 * time.Hour // only dampened
				}
				return []Step{{Kind: DryOut, Wait: wait, Why: "the wood is wet; it dries before it is sanded or coated"}}
			}},
	}
}
