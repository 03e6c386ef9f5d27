package finish

import "time"

// woodRules are what the wood itself asks of the first coat.
func woodRules() []Rule {
	return []Rule{
		{ID: "solvent-wipe", Severity: Caution, Source: practice, Says: "Oily wood is wiped with solvent just before its first coat.",
			Why: "Its oil comes up again within hours, and no film holds on it.", Instead: "Wipe with lacquer thinner or acetone, let it flash off, and coat at once.",
			broken: func(s *surface, n *next) bool { return n.is.layer && s.bare && s.kind.Oily && !s.wiped },
			remedy: func(*surface, *next) []Step {
				return []Step{{Kind: WipeSolvent, Wait: 15 * time.Minute, Why: "the wood's own oil is wiped off the surface just before the first coat"}}
			}},
		{ID: "oily-wood-oil", Severity: Note, Source: practice, Says: "A drying oil dries slowly on oily wood, or not at all.",
			Why: "The oils of teak or rosewood hold it back.", Instead: "Wipe with solvent, put it on thin, wipe all of it off, and try it on a hidden spot; or seal with dewaxed shellac and varnish.",
			broken: func(s *surface, n *next) bool {
				return n.is.layer && n.Product.Family == DryingOil && s.bare && s.kind.Oily
			}},
		{ID: "wood-unknown", Severity: Note, Source: practice, Says: "Wood that nobody could tell may be oily.",
			Why: "The oils of teak or rosewood keep oil and varnish from drying.", Instead: "Try the product on a hidden spot; if it stays tacky, wipe with solvent and seal with dewaxed shellac.",
			broken: func(s *surface, n *next) bool {
				return n.is.layer && n.film.selfHeats && s.bare && s.wooden() && s.Species == ""
			}},
		{ID: "silicone", Severity: Note, Source: practice, Says: "Where polish lay, silicone may be left.",
			Why: "Cleaning spreads it, and a film crawls from it into fisheyes.", Instead: "Wash twice with clean rags; seal with thin dewaxed shellac if a drop of the finish crawls.",
			broken: func(s *surface, n *next) bool {
				return n.is.layer && s.polished && !s.coated && n.Product.Family != DewaxedShellac && n.Product.Family != Shellac && n.Product.Family != Wax
			}},
		{ID: "blotching", Severity: Note, Source: practice, Says: "Some woods take a stain in blots.",
			Why: "Their density changes from place to place.", Instead: "Try it on a hidden spot; a gel stain or a thin wash coat evens it out.",
			broken: func(s *surface, n *next) bool { return n.Kind == StainCoat && s.bare && s.kind.Blotches }},
		{ID: "open-pores", Severity: Note, Source: practice, Says: "Open pores show in a film unless they are filled.",
			Why: "A coat sinks into them.", Instead: "Fill the grain if the film is to be level; leave it if the pores may show.",
			broken: func(s *surface, n *next) bool { return n.Kind == TopcoatCoat && s.bare && s.kind.OpenPore }},
	}
}
