package finish

import "time"

// fillerDries is how long filler dries before a finish goes over it. Source: US Navy training
// manual 14044, of paste wood filler, which is wiped off after 5 to 10 minutes and dries for
// 24 hours; other fillers go by their label.
const fillerDries = 24 * time.Hour

// repairRules are where dents, holes and chips are mended: after stripping and drying, before
// sanding.
func repairRules() []Rule {
	return []Rule{
		{ID: "veneer-repaired", Severity: Caution, Source: practice, Says: "Chipped veneer is patched before the part is sanded or coated.",
			Why: "A patch is levelled together with what is around it; put in later it stands out.", Instead: "Let in a patch with the same grain, after stripping and drying, and clamp it.",
			broken: func(s *surface, n *next) bool { return s.left.patch && n.is.touches && n.Kind != VeneerRepair },
			remedy: func(s *surface, _ *next) []Step {
				return []Step{{Kind: VeneerRepair, Wait: clamped, Why: s.ifLeadFree("a patch is let in where veneer is missing, so that it is sanded with the rest")}}
			}},
		{ID: "fill-before-sanding", Severity: Caution, Source: practice + "; US Navy training manual 14044 for the drying of paste filler", Says: "Dents and holes are filled after stripping and drying, before sanding.",
			Why: "Stripper softens filler and wash water lifts it; filled after sanding, it stands proud.", Instead: "Steam dents out or fill them, let the filler dry, and sand all of it.",
			broken: func(s *surface, n *next) bool {
				return s.left.fill && n.is.touches && n.Kind != Fill && n.Kind != VeneerRepair
			},
			remedy: func(*surface, *next) []Step {
				return []Step{{Kind: Fill, Wait: fillerDries, Why: "dents and holes are filled on dry wood, so that the filler is sanded with it"}}
			}},
		{ID: "filler-sanded", Severity: Caution, Source: practice, Says: "Filler and patches are levelled before a coat.",
			Why: "Under a film each edge shows.", Instead: "Scuff the filled places level, with P220 in an old film and P320 in a new one.",
			broken: func(s *surface, n *next) bool { return n.is.layer && s.rough && !s.bare && !s.colour },
			remedy: func(s *surface, _ *next) []Step {
				grit := P(220)
				if s.coated {
					grit = P(320)
				}
				return []Step{{Kind: ScuffSand, Grit: grit, Why: s.ifLeadFree("filler and patches are levelled with the film around them")}}
			}},
		{ID: "filler-stain", Severity: Note, Source: practice, Says: "Filler takes a stain otherwise than wood.",
			Why: "It soaks up more, or none, and the place shows.", Instead: "Tint the filler, try it on scrap, or touch the place up after the stain.",
			broken: func(s *surface, n *next) bool { return n.is.stains && s.bare && s.has(Dents, Holes, Scratches) }},
		{ID: "marks", Severity: Note, Source: practice, Says: "Water rings and burns may reach into the wood.",
			Why: "A white ring is in the finish and goes with it; a black one and a burn are in the wood, and shine through a clear film.", Instead: "Look when the finish is off: sand or scrape a burn out and fill it; bleach a black ring with oxalic acid as its sheet says; or paint the part.",
			broken: func(s *surface, n *next) bool { return n.is.layer && !s.coated && s.has(WaterRing, Burn) }},
	}
}
