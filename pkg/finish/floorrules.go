package finish

// skippedGrades is looked at over all steps, so none of them breaks it alone.
var skippedGrades = Rule{ID: "grit-sequence", Severity: Caution, Source: practice, Says: "Sanding goes from coarse to fine and leaves out no more than one grade.",
	Why: "The scratches of a coarse grade are too deep for a much finer one.", Instead: "Put the grades between them in."}

// The rules that are looked at over all parts of a piece.
var (
	matchGrit = Rule{ID: "match-grit", Severity: Caution, Source: practice, Says: "Parts that must match end on the same grit before a stain.",
		Why: "Finer wood takes less colour, and the parts differ.", Instead: "Sand them all up to the same grade."}
	colourMatch = Rule{ID: "colour-match", Severity: Caution, Source: practice, Says: "Parts that meet in view are compared before their first topcoat.",
		Why: "Under a topcoat the colour cannot be changed any more.", Instead: "Lay them side by side in daylight when the stain is dry; a lighter part gets another coat of stain, or a longer dwell."}
)

// floorRules are those that only somebody at the piece can judge: no plan breaks them.
func floorRules() []Rule {
	return []Rule{
		{ID: "fit-air", Severity: Stop, Source: practice, Floor: true, Says: "No coat goes on in air, or on a surface, that is unfit for it.",
			Why: "Too cold, too damp or near the dew point a film blushes, stays soft or peels; too hot and dry it does not flow.", Instead: "Measure air and surface; wait or heat until the product's limits are met, and the surface is 3 °C above the dew point."},
		{ID: "wood-moisture", Severity: Stop, Source: practice, Floor: true, Says: "Wood is finished near the moisture that its air gives it.",
			Why: "Wetter wood shrinks under the film and blisters it; drier wood swells.", Instead: "Measure with a meter; wait until it is within two points of what the shop's air gives it."},
		{ID: "wet-edge", Severity: Note, Source: practice, Floor: true, Says: "Each stroke meets an edge that is still wet.",
			Why: "Over an edge that has set, laps show; hot dry air shortens the time.", Instead: "Work in smaller sections, or in cooler air; slow the product down as its sheet allows."},
		{ID: "fisheyes", Severity: Stop, Source: practice, Floor: true, Says: "No coat goes over one that crawls into fisheyes.",
			Why: "They are silicone or wax under the film, and another coat crawls as well.", Instead: "Wipe the wet coat off with its solvent, wash, seal with thin dewaxed shellac."},
	}
}
