package finish

// sanding is the grades for bare wood up to what suits stain and film alike. Sources: 100 to
// 120 after chemical stripping, 150 to 180 at the end (guides to refinishing); what is thin
// or pressed starts finer, common practice.
func sanding(s *surface, n Step) []Step {
	from, to := P(100), P(180)
	if s.thin() || s.Material == MDF {
		from = P(150)
	}
	if s.sanded || s.raised {
		from = to // only the last grade again
	}
	grades, err := SandingSequence(from, to)
	if err != nil {
		panic(err) // both are known
	}
	steps := make([]Step, len(grades))
	for i, g := range grades {
		steps[i] = Step{Kind: Sand, Grit: g, Why: "bare wood is sanded from coarse to fine, so that no scratch shows"}
	}
	return steps
}

// surfaceRules are how a surface is made ready for its first coat.
func surfaceRules() []Rule {
	return []Rule{
		{ID: "laminate-sanding", Severity: Stop, Says: "Laminate is dulled, not sanded.",
			Why: "Its printed layer is a fraction of a millimetre.", Instead: "Scuff it with P320 or finer and use a primer that holds on it.",
			broken: func(s *surface, n Step) bool {
				return n.Kind == Sand && (s.Material == Laminate || s.Material == Metal)
			}},
		{ID: "thin-veneer", Severity: Stop, Says: "Thin veneer is not sanded with coarse grades.",
			Why: "They go through it in a moment, and that cannot be undone.", Instead: "Strip with chemicals and sand with P150 and finer, by hand.",
			broken: func(s *surface, n Step) bool { return n.Kind == Sand && s.thin() && P(150).finer(n.Grit) }},
		{ID: "veneer-left", Severity: Stop, Says: "Sanding leaves veneer at least 0.2 mm thick.",
			Why: "Each grade takes off about the size of its grain, and what is under thin veneer shows, or tears through.", Instead: "Strip with chemicals, leave grades out, or paint the part.",
			broken: func(s *surface, n Step) bool {
				return n.Kind == Sand && s.Material == Veneer && s.thickness()-s.worn-sizes[n.Grit] < leastVeneer
			}},
		{ID: "sand-bare-wood", Severity: Caution, Says: "Bare wood is sanded before its first coat.",
			Why: "Stripping and washing leave it rough and fuzzy, and every scratch shows.", Instead: "Sand from coarse to fine, leaving out no more than one grade.",
			broken: func(s *surface, n Step) bool {
				return (layers[n.Kind] || n.Kind == OpenPores || n.Kind == SpotSeal) && s.bare && !s.sanded && (s.wooden() || s.Material == MDF)
			},
			remedy: sanding},
		{ID: "grit-before-stain", Severity: Caution, Says: "The last grade before a stain is 150 to 220.",
			Why: "Coarser leaves scratches that take more colour; finer closes the grain, which then takes too little.", Instead: "End on P180, and on the same grade on all parts that must match.",
			broken: func(s *surface, n Step) bool {
				return inWood(n.Kind) && s.bare && s.sanded && !s.grit.FitForStain()
			},
			remedy: func(*surface, Step) []Step {
				return []Step{{Kind: Sand, Grit: P(180), Why: "a stain wants wood that ends between 150 and 220"}}
			}},
		{ID: "raise-grain", Severity: Caution, Says: "Under a water-borne first coat the grain is raised on purpose.",
			Why: "Water lifts the fibres; a coat freezes them as they stand.", Instead: "Dampen the wood, let it dry, knock the fibres down with the last grade.",
			broken: func(s *surface, n Step) bool {
				return layers[n.Kind] && families[n.Product.Family].water && s.bare && s.wooden() && !s.raised
			},
			remedy: one(RaiseGrain, "the first coat is water-borne: the grain is raised now and knocked down, not under the film")},
		{ID: "dust-off", Severity: Caution, Says: "Dust comes off before a coat.",
			Why: "What lies on the surface stays in the film.", Instead: "Vacuum, then wipe with a tack cloth.",
			broken: func(s *surface, n Step) bool {
				return (layers[n.Kind] || n.Kind == SpotSeal || n.Kind == Mask) && s.dusty
			},
			remedy: one(DustOff, "what lies on the surface would stay in the film")},
		{ID: "knots", Severity: Caution, Says: "Knots and pitch are sealed before light paint.",
			Why: "Resin comes through for years and yellows it; solvent-borne paint dissolves it besides.", Instead: "Spot-seal them with shellac, two thin coats.",
			broken: func(s *surface, n Step) bool {
				light := n.Product.Light && !families[n.Product.Family].water // under water-borne paint all of it is sealed
				return (n.Kind == PaintCoat || n.Kind == Prime) && light && s.bare && s.kind.Resin && !s.blocked && !s.spotted && !n.Product.BlocksStains
			},
			remedy: func(s *surface, _ Step) []Step {
				p := s.palette.block()
				return []Step{{Kind: SpotSeal, Product: p, Wait: p.Recoat, Why: "resin from knots would come through the paint"}}
			}},
		{ID: "silicone", Severity: Note, Says: "Where polish lay, silicone may be left.",
			Why: "Cleaning spreads it, and a film crawls from it into fisheyes.", Instead: "Wash twice with clean rags; seal with thin dewaxed shellac if a drop of the finish crawls.",
			broken: func(s *surface, n Step) bool {
				return layers[n.Kind] && s.polished && !s.coated && n.Product.Family != DewaxedShellac && n.Product.Family != Shellac && n.Product.Family != Wax
			}},
	}
}

// inWood reports a kind that colours the wood itself.
func inWood(k Kind) bool { return k == StainCoat || k == Ebonise }

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
