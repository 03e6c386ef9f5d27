package finish

import "time"

// clamped is how long glue stays under clamps. Common practice for wood glue; its label comes
// first.
const clamped = 4 * time.Hour

// groundRules are what comes before wood is sanded.
func groundRules() []Rule {
	return []Rule{
		{ID: "clean-first", Severity: Stop, Source: practice, Says: "Dirt, wax and grease come off before anything else.",
			Why: "Sanding drives dirt, wax and silicone into the wood, and no film holds on them.", Instead: "Clean and degrease; take wax off with mineral spirits.",
			broken: func(s *surface, n *next) bool {
				return (n.is.touches || n.Kind == Strip) && (!s.clean || s.Waxed)
			},
			remedy: one(Clean, "dirt and wax come off first, or they are sanded in")},
		{ID: "glue-before-finish", Severity: Caution, Source: practice, Says: "Loose joints and lifted veneer are glued before the part is stripped, sanded or coated.",
			Why:     "Glue wipes off an old finish and stains bare wood; wash water runs under lifted veneer, and a joint that works cracks the new film.",
			Instead: "Scrape the old glue out, glue and clamp for four hours or as the glue's label says.",
			broken:  func(s *surface, n *next) bool { return s.left.glue && (n.is.touches || n.Kind == Strip) },
			remedy: func(*surface, *next) []Step {
				return []Step{{Kind: GlueClamp, Wait: clamped, Why: "what is loose is glued and clamped while the old finish still keeps glue out of the wood"}}
			}},
		{ID: "stain-bare-wood", Severity: Stop, Source: practice, Says: "A stain needs bare wood.",
			Why: "It colours by soaking in, which it cannot through a film.", Instead: "Strip the old finish; or keep it and colour with a glaze or a toner.",
			broken: func(s *surface, n *next) bool { return n.is.soaks && !s.bare && !s.coated },
			remedy: stripFor("a stain colours by soaking in, so the old finish comes off")},
		{ID: "stain-under-film", Severity: Stop, Source: practice, Says: "A stain does not go over a film.",
			Why: "It cannot soak in, and nothing holds on what stays on top.", Instead: "Put the stain before the first coat, or use a glaze or a toner.",
			broken: func(s *surface, n *next) bool { return n.is.stains && s.coated && !s.colour }},
		{ID: "stain-wood-only", Severity: Stop, Source: practice, Says: "Only wood takes a stain.",
			Why: "Laminate, metal and MDF do not soak it up, or only in blots.", Instead: "Paint the part, or colour it with a toner over a sealed surface.",
			broken: func(s *surface, n *next) bool { return n.is.soaks && !s.wooden() }},
		{ID: "wash-after-strip", Severity: Stop, Source: practice + "; USDA Wood Handbook (FPL-GTR-190), chapter 16, on strippers", Says: "What a stripper leaves is washed off.",
			Why: "Its residue keeps films from drying and from holding.", Instead: "Neutralise or wash off as the stripper's sheet says.",
			broken: func(s *surface, n *next) bool { return s.stripped && (n.is.touches || n.Kind == DryOut) },
			remedy: one(WashOff, "the stripper's residue would keep the finish from drying")},
		{ID: "dry-wood", Severity: Stop, Source: practice, Says: "Wet wood dries before it is sanded or coated.",
			Why: "Sanding wet wood tears its fibres and clogs the paper; a film over it blisters.", Instead: "Wait until the wood is near the moisture that the shop's air gives it.",
			broken: func(s *surface, n *next) bool { return s.wet && n.is.touches && n.Kind != RaiseGrain },
			remedy: func(s *surface, _ *next) []Step {
				return []Step{{Kind: DryOut, Wait: s.damp, Why: "the wood is wet; it dries before it is sanded or coated"}}
			}},
		{ID: "dry-time", Severity: Caution, Source: practice, Says: "Washed wood dries for a day, dampened wood for two hours.",
			Why: "The surface feels dry long before the wood is.", Instead: "Wait as long, or go by a moisture meter and have somebody answer for it.",
			broken: func(s *surface, n *next) bool { return n.Kind == DryOut && s.wet && n.Wait < s.damp }},
	}
}
