package finish

import (
	"slices"
	"time"

	"tackfree/pkg/fault"
)

// Severity is how grave it is to break a rule.
type Severity string

// The severities. A stop spoils the finish or harms somebody, a caution may, a note is
// worth knowing.
const (
	Stop    Severity = "stop"
	Caution Severity = "caution"
	Note    Severity = "note"
)

// Rule is one thing that makes or breaks a finish.
type Rule struct {
	ID       string
	Severity Severity
	Says     string // the rule itself
	Why      string
	Instead  string // what to do
	broken   func(s *surface, next Step) bool
	remedy   func(s *surface, next Step) []Step // nil: none can be put in
}

// Rules lists all, in the order in which they are looked at: what keeps people safe comes
// first, then what the surface needs, then what the layers need.
func Rules() []Rule { return slices.Clone(rules) }

// ExplainRule finds a rule. Fault: RULE_UNKNOWN.
func ExplainRule(id string) (Rule, error) {
	for _, r := range rules {
		if r.ID == id {
			return r, nil
		}
	}
	return Rule{}, fault.New(fault.NotFound, "RULE_UNKNOWN", "There is no rule %q; look at the list of rules.", id).At("rule")
}

var rules = slices.Concat(safetyRules(), surfaceRules(), layerRules(), []Rule{skippedGrades})

func one(k Kind, why string) func(*surface, Step) []Step {
	return func(*surface, Step) []Step { return []Step{{Kind: k, Why: why}} }
}

func abrades(k Kind) bool { return k == Sand || k == ScuffSand }

func safetyRules() []Rule {
	return []Rule{
		{ID: "lead-untested", Severity: Stop, Says: "Old coatings that may hold lead are tested before they are disturbed.",
			Why:     "Paint from before lead was banned, or of unknown age, is presumed to hold lead; sanding, scraping or heating it makes dust and fume that poison.",
			Instead: "Test for lead first. Until then no dry sanding, no scraping, no heat. Follow your local rules and licensed practice.",
			broken: func(s *surface, n Step) bool {
				return (abrades(n.Kind) || n.Kind == Strip) && !s.bare && !s.tested && s.mayHoldLead()
			},
			remedy: one(LeadTest, "the old coating may hold lead, so it is tested before anybody disturbs it")},
		{ID: "lead-dry-sanding", Severity: Stop, Says: "A coating that holds lead is not sanded dry.",
			Why:     "The dust is poisonous and stays in the shop.",
			Instead: "Take it off wet, by a chemical stripper and with the controls your local rules ask for, or leave it to licensed people.",
			broken: func(s *surface, n Step) bool {
				return abrades(n.Kind) && !s.bare && !s.coated && s.Lead == LeadFound && s.mayHoldLead()
			},
			remedy: one(Strip, "the old coating holds lead, so it comes off wet and is never sanded dry")},
	}
}

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

func surfaceRules() []Rule {
	return []Rule{
		{ID: "clean-first", Severity: Stop, Says: "Dirt, wax and grease come off before anything else.",
			Why: "Sanding drives dirt, wax and silicone into the wood, and no film holds on them.", Instead: "Clean and degrease; take wax off with mineral spirits.",
			broken: func(s *surface, n Step) bool {
				return (abrades(n.Kind) || n.Kind == Strip || n.Kind == RaiseGrain || layers[n.Kind]) && (!s.clean || s.Waxed)
			},
			remedy: one(Clean, "dirt and wax come off first, or they are sanded in")},
		{ID: "stain-bare-wood", Severity: Stop, Says: "A stain needs bare wood.",
			Why: "It colours by soaking in, which it cannot through a film.", Instead: "Strip the old finish; or keep it and colour with a glaze or a toner.",
			broken: func(s *surface, n Step) bool { return n.Kind == StainCoat && !s.bare && !s.coated },
			remedy: one(Strip, "a stain colours by soaking in, so the old finish comes off")},
		{ID: "stain-under-film", Severity: Stop, Says: "A stain does not go over a film.",
			Why: "It cannot soak in, and nothing holds on what stays on top.", Instead: "Put the stain before the first coat, or use a glaze or a toner.",
			broken: func(s *surface, n Step) bool { return n.Kind == StainCoat && s.coated && !s.colour }},
		{ID: "stain-wood-only", Severity: Stop, Says: "Only wood takes a stain.",
			Why: "Laminate, metal and MDF do not soak it up, or only in blots.", Instead: "Paint the part, or colour it with a toner over a sealed surface.",
			broken: func(s *surface, n Step) bool { return n.Kind == StainCoat && !s.wooden() }},
		{ID: "wash-after-strip", Severity: Stop, Says: "What a stripper leaves is washed off.",
			Why: "Its residue keeps films from drying and from holding.", Instead: "Neutralise or wash off as the stripper's sheet says.",
			broken: func(s *surface, n Step) bool { return s.stripped && n.Kind != WashOff },
			remedy: one(WashOff, "the stripper's residue would keep the finish from drying")},
		{ID: "dry-wood", Severity: Stop, Says: "Wet wood dries before it is sanded or coated.",
			Why: "Sanding wet wood tears its fibres and clogs the paper; a film over it blisters.", Instead: "Wait until the wood is near the moisture that the shop's air gives it.",
			broken: func(s *surface, n Step) bool { return s.wet && (abrades(n.Kind) || layers[n.Kind]) },
			remedy: func(s *surface, _ Step) []Step {
				wait := 24 * time.Hour // common practice after washing
				if s.raised {
					wait = 2 * time.Hour // only dampened
				}
				return []Step{{Kind: DryOut, Wait: wait, Why: "the wood is wet; it dries before it is sanded or coated"}}
			}},
		{ID: "laminate-sanding", Severity: Stop, Says: "Laminate is dulled, not sanded.",
			Why: "Its printed layer is a fraction of a millimetre.", Instead: "Scuff it with P320 or finer and use a primer that holds on it.",
			broken: func(s *surface, n Step) bool {
				return n.Kind == Sand && (s.Material == Laminate || s.Material == Metal)
			}},
		{ID: "thin-veneer", Severity: Stop, Says: "Thin veneer is not sanded with coarse grades.",
			Why: "They go through it in a moment, and that cannot be undone.", Instead: "Strip with chemicals and sand with P150 and finer, by hand.",
			broken: func(s *surface, n Step) bool { return n.Kind == Sand && s.thin() && P(150).finer(n.Grit) }},
		{ID: "sand-bare-wood", Severity: Caution, Says: "Bare wood is sanded before its first coat.",
			Why: "Stripping and washing leave it rough and fuzzy, and every scratch shows.", Instead: "Sand from coarse to fine, leaving out no more than one grade.",
			broken: func(s *surface, n Step) bool {
				return layers[n.Kind] && s.bare && !s.sanded && (s.wooden() || s.Material == MDF)
			},
			remedy: sanding},
		{ID: "grit-before-stain", Severity: Caution, Says: "The last grade before a stain is 150 to 220.",
			Why: "Coarser leaves scratches that take more colour; finer closes the grain, which then takes too little.", Instead: "End on P180, and on the same grade on all parts that must match.",
			broken: func(s *surface, n Step) bool {
				return n.Kind == StainCoat && s.bare && s.sanded && !s.grit.FitForStain()
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
			broken: func(s *surface, n Step) bool { return layers[n.Kind] && s.dusty },
			remedy: one(DustOff, "what lies on the surface would stay in the film")},
	}
}
