package finish

// bleeds reports a surface through which colour comes up into a light water-borne film.
func (s *surface) bleeds() bool { return s.mayBleed() && !s.blocked }

// mayBleed reports wood that bleeds as long as nothing holds it back.
func (a Assessment) mayBleed() bool {
	kind := a.wood()
	return kind.Tannin || kind.Resin || a.OldStain
}

// link is how the next coat holds on what lies there; false where that is no film. A
// stain-blocking primer is made to be painted over with anything, once it takes a coat.
// Common practice.
func (s *surface) link(n *next) (Link, bool) {
	below, there := s.below()
	if !there || !n.is.layer {
		return Bonds, false
	}
	l := bond(below, n.film)
	if s.coated && s.primer && (l == Cured || l == Tied) {
		l = Scuffed
	}
	return l, true
}

// layerRules are which coat goes over which.
func layerRules() []Rule {
	return []Rule{
		{ID: "never-over", Severity: Stop, Source: practice, Says: "Some films hold on no other, and nothing holds on some.",
			Why: "Nothing but wax holds on wax, and an oil needs wood to soak into.", Instead: "Take the lower film off, or choose another product.",
			broken: func(s *surface, n *next) bool { l, over := s.link(n); return over && l == Never && s.coated }},
		{ID: "never-over-old", Severity: Stop, Source: practice, Says: "An old finish on which the new one does not hold comes off.",
			Why: "The new film would peel.", Instead: "Strip the old finish.",
			broken: func(s *surface, n *next) bool { l, over := s.link(n); return over && l == Never && !s.coated },
			remedy: stripFor("the new coat does not hold on the old finish, so that comes off")},
		{ID: "bleed-through", Severity: Stop, Source: "USDA Wood Handbook (FPL-GTR-190), chapter 16; FPL Report 1733", Says: "A light water-borne film over wood that bleeds needs a stain block.",
			Why: "Water draws tannin, resin and old colour up, and they stain the paint for good.", Instead: "Seal with shellac or a solvent-borne stain-blocking primer first, in thin coats.",
			broken: func(s *surface, n *next) bool {
				return n.is.layer && n.Product.Light && n.film.water && s.bleeds()
			},
			remedy: func(s *surface, _ *next) []Step {
				return []Step{s.palette.blocking("the wood would bleed into the light paint, so its colour is sealed in")}
			}},
		{ID: "knots", Severity: Caution, Source: "US Army TM 43-0139, paragraph 5-29", Says: "Knots and pitch are sealed before light paint.",
			Why: "Resin comes through for years and yellows it; solvent-borne paint dissolves it besides.", Instead: "Spot-seal them with shellac, two thin coats.",
			broken: func(s *surface, n *next) bool {
				light := n.Product.Light && !n.film.water // under water-borne paint all of it is sealed
				return (n.Kind == PaintCoat || n.Kind == Prime) && light && s.bare && s.kind.Resin && !s.blocked && !s.spotted && !n.Product.BlocksStains
			},
			remedy: func(s *surface, _ *next) []Step {
				p := s.palette.block()
				return []Step{{Kind: SpotSeal, Product: p, Wait: p.Recoat, Why: "resin from knots would come through the paint"}}
			}},
		{ID: "hot-solvent", Severity: Stop, Source: practice, Says: "Hot solvents do not go over oil or alkyd that has not cured.",
			Why: "Lacquer and two-part thinners swell it, and it wrinkles; the alcohol of shellac is mild.", Instead: "Put a coat of dewaxed shellac between them.",
			broken: func(s *surface, n *next) bool {
				return n.is.layer && n.film.hot && s.coated && !s.filmless && s.film.selfHeats && s.waited < s.top.Cure
			},
			remedy: tie("lacquer would wrinkle the fresh oil below; shellac keeps its solvents off")},
		{ID: "tie-coat", Severity: Stop, Source: practice, Says: "Between films that do not hold on each other goes a tie coat.",
			Why: "Dewaxed shellac holds on nearly all films, and nearly all hold on it.", Instead: "Brush or spray one thin coat of dewaxed shellac between them.",
			broken: func(s *surface, n *next) bool { l, over := s.link(n); return over && l == Tied },
			remedy: tie("the next coat does not hold on the one below; dewaxed shellac holds on both")},
		{ID: "oily-wood", Severity: Caution, Source: practice, Says: "Oily woods are sealed before an oil-based film.",
			Why: "The oils of teak or rosewood keep it from drying.", Instead: "Wipe with solvent and seal with dewaxed shellac; a stain goes on before the seal.",
			broken: func(s *surface, n *next) bool {
				film := n.is.layer && !n.is.soaks && n.film.selfHeats && n.Product.Family != DryingOil
				return film && s.kind.Oily && !s.filmed && (s.bare || s.coated)
			},
			remedy: tie("the wood's own oil would keep the film from drying")},
		{ID: "odour-sealed", Severity: Caution, Source: practice, Says: "Wood that smells is sealed with shellac before its first film.",
			Why: "Smoke, must and mothballs come through other films for years.", Instead: "Clean, air, and seal all sides with a thin coat of dewaxed shellac.",
			broken: func(s *surface, n *next) bool {
				film := n.is.layer && !n.is.soaks && n.Product.Family != DryingOil && n.Product.Family != Shellac && n.Product.Family != DewaxedShellac
				return film && s.has(Odour) && !s.shut && !s.filmed && s.Material != Laminate && s.Material != Metal
			},
			remedy: seal("shellac holds the smell back")},
		{ID: "glaze-sealed", Severity: Caution, Source: practice, Says: "A glaze or a toner goes over a sealed surface.",
			Why: "Bare wood soaks it up in blots, and it cannot be wiped back.", Instead: "Seal with one thin coat first.",
			broken: func(s *surface, n *next) bool {
				return (n.Kind == GlazeCoat || n.Kind == TonerCoat) && s.bare && (s.wooden() || s.Material == MDF)
			},
			remedy: seal("bare, the surface would soak the colour up in blots")},
		{ID: "milk-paint", Severity: Note, Source: practice, Says: "Milk paint flakes off closed films.",
			Why: "It holds by soaking in, and shellac, varnish and lacquer let nothing in; some like the look.", Instead: "Mix a bonding agent into its first coat, scuff, and try it on a hidden spot.",
			broken: func(s *surface, n *next) bool {
				below, over := s.below()
				return n.is.layer && over && n.Product.Family == MilkPaint && below != n.film && below != families[ChalkPaint]
			}},
	}
}

// tie puts a coat of dewaxed shellac between two films.
func tie(why string) func(*surface, *next) []Step {
	return func(s *surface, _ *next) []Step { return []Step{s.palette.tying(why)} }
}
