package finish

// sanding is the grades for bare wood up to what suits stain and film alike. Sources: 100 to
// 120 after chemical stripping, 150 to 180 at the end (guides to refinishing); what is thin
// or pressed starts finer, common practice. Veneer that would get too thin leaves coarse
// grades out.
func sanding(s *surface, n *next) []Step {
	from, to := P(100), P(180)
	if s.thin() || s.Material == MDF {
		from = P(150)
	}
	if s.grit != (Grit{}) || s.raised {
		from = to // only the last grade again
	}
	knockedDown := n.is.layer && n.film.water && !s.raised
	if from != to && s.Material == Veneer && !s.leaves(grades(from, to), knockedDown) {
		from = P(150)
		if !s.leaves(grades(from, to), knockedDown) {
			from = to
		}
	}
	return sandSteps(grades(from, to), "bare wood is sanded from coarse to fine, so that no scratch shows")
}

// grades are those from one to a finer one, both known.
func grades(from, to Grit) []Grit {
	all, err := SandingSequence(from, to)
	if err != nil {
		panic(err) // both are known
	}
	return all
}

func sandSteps(grades []Grit, why string) []Step {
	steps := make([]Step, len(grades))
	for i, g := range grades {
		steps[i] = Step{Kind: Sand, Grit: g, Why: why}
	}
	return steps
}

// upTo is what is sanded with, after the grade that the wood ended on, to end on a finer one.
func (s *surface) upTo(to Grit) []Grit {
	if !to.finer(s.grit) {
		return []Grit{to}
	}
	return grades(s.grit, to)[1:]
}

// surfaceRules are how a surface is made ready for its first coat.
func surfaceRules() []Rule {
	return []Rule{
		{ID: "thin-veneer", Severity: Stop, Source: practice, Says: "Thin veneer is not sanded with coarse grades.",
			Why: "They go through it in a moment, and that cannot be undone.", Instead: "Strip with chemicals and sand with P150 and finer, by hand.",
			broken: func(s *surface, n *next) bool { return n.is.abrades && s.thin() && P(150).finer(n.Grit) }},
		{ID: "veneer-left", Severity: Stop, Source: practice, Says: "Sanding leaves veneer at least 0.2 mm thick.",
			Why: "Each grade takes off about the size of its grain, and what is under thin veneer shows, or tears through.", Instead: "Strip with chemicals, leave grades out, or paint the part.",
			broken: func(s *surface, n *next) bool {
				return n.Kind == Sand && s.Material == Veneer && s.thickness()-s.worn-sizes[n.Grit] < leastVeneer
			}},
		{ID: "sand-bare-wood", Severity: Caution, Source: practice + "; guides to refinishing agree on the grades", Says: "Bare wood is sanded before its first coat.",
			Why: "Stripping and washing leave it rough and fuzzy, and every scratch shows.", Instead: "Sand from coarse to fine, leaving out no more than one grade.",
			broken: func(s *surface, n *next) bool {
				return (n.is.layer || n.Kind == OpenPores || n.Kind == SpotSeal) && s.bare && !s.sanded && (s.wooden() || s.Material == MDF)
			},
			remedy: sanding},
		{ID: "scuff-bare-wood", Severity: Caution, Source: practice, Says: "Bare wood is sanded, not scuffed as if there were a film.",
			Why: "A fine grade alone leaves what is coarser, and closes the grain.", Instead: "Sand from P100 or P120 to P180; scuff between coats.",
			broken: func(s *surface, n *next) bool {
				return n.Kind == ScuffSand && s.bare && (s.wooden() || s.Material == MDF)
			}},
		{ID: "scuff-grit", Severity: Caution, Source: practice, Says: "An old film is dulled with P180 or finer.",
			Why: "Coarser grades cut through it, and their scratches show in the new film.", Instead: "Scuff with P220 to P320; strip what is too rough for that.",
			broken: func(s *surface, n *next) bool {
				return n.Kind == ScuffSand && !s.coated && !s.bare && coarsestDulling.finer(n.Grit)
			}},
		{ID: "grit-before-stain", Severity: Caution, Source: practice + "; guides to refinishing agree on 150 to 220", Says: "The last grade before a stain is 150 to 220.",
			Why: "Coarser leaves scratches that take more colour; finer closes the grain, which then takes too little.", Instead: "End on P180, and on the same grade on all parts that must match.",
			broken: func(s *surface, n *next) bool {
				return n.is.stains && s.bare && s.sanded && !s.grit.FitForStain()
			},
			remedy: func(s *surface, _ *next) []Step {
				return sandSteps(s.upTo(P(180)), "a stain wants wood that ends between 150 and 220")
			}},
		{ID: "grit-before-film", Severity: Caution, Source: practice, Says: "The last grade under a clear film is P120 or finer.",
			Why: "A film shows the scratches of coarser ones, and oil darkens them.", Instead: "Go on to P180.",
			broken: func(s *surface, n *next) bool {
				clear := n.Kind == TopcoatCoat || n.Kind == OilCoat || n.Kind == SealCoat || n.Kind == TieCoat
				return clear && s.bare && s.sanded && s.wooden() && P(120).finer(s.grit)
			},
			remedy: func(s *surface, _ *next) []Step {
				return sandSteps(s.upTo(P(180)), "scratches of a coarse grade show in a clear film")
			}},
		{ID: "raise-grain", Severity: Caution, Source: practice, Says: "Under a water-borne first coat the grain is raised on purpose.",
			Why: "Water lifts the fibres; a coat freezes them as they stand.", Instead: "Dampen the wood, let it dry, knock the fibres down with the last grade; or seal with dewaxed shellac first.",
			broken: func(s *surface, n *next) bool {
				return n.is.layer && n.film.water && s.bare && s.wooden() && !s.raised
			},
			remedy: func(s *surface, n *next) []Step {
				if s.Material == Veneer && !n.is.stains && !s.leaves(grades(P(180), P(180)), false) {
					return seal("the veneer is too thin to be sanded once more, so shellac keeps the water off")(s, n)
				}
				return []Step{{Kind: RaiseGrain, Why: "the first coat is water-borne: the grain is raised now and knocked down, not under the film"}}
			}},
		{ID: "dust-off", Severity: Caution, Source: practice, Says: "Dust comes off before a coat.",
			Why: "What lies on the surface stays in the film.", Instead: "Vacuum, then wipe with a tack cloth.",
			broken: func(s *surface, n *next) bool {
				return (n.is.layer || n.Kind == SpotSeal || n.Kind == Mask) && s.dusty
			},
			remedy: one(DustOff, "what lies on the surface would stay in the film")},
	}
}

// Veneer, in µm. Common practice, as is that a grade takes off the size of its grain.
const (
	leastVeneer = 200
	usualVeneer = 500 // where nobody knows
)

func (s *surface) thickness() float64 {
	if s.VeneerMM == 0 {
		return usualVeneer
	}
	return s.VeneerMM * 1000
}

// leaves reports whether veneer stays thick enough after some grades, and after the last of
// them once more where raised grain is to be knocked down.
func (s *surface) leaves(grades []Grit, knockedDown bool) bool {
	left := s.thickness() - s.worn
	for _, g := range grades {
		left -= sizes[g]
	}
	if knockedDown {
		left -= sizes[grades[len(grades)-1]]
	}
	return left >= leastVeneer
}
