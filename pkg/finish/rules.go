package finish

import (
	"slices"

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
	Source   string // where it is published; or that it is common practice
	Floor    bool   // only somebody at the piece can judge it, so no check finds it
	broken   func(s *surface, n *next) bool
	remedy   func(s *surface, n *next) []Step // nil: none can be put in
}

// HasRemedy reports a rule for which planning puts in what it asks for.
func (r Rule) HasRemedy() bool { return r.remedy != nil }

// Rules lists all, in the order in which they are looked at: what keeps people safe comes
// first, then what the surface needs, then what the layers need; what is judged over the
// whole piece or at it comes last.
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

// stepRules are those that a step breaks by itself. Which layers there are to be is decided
// before the surface is made ready for them, and what must dry after that.
var stepRules = slices.Concat(safetyRules(), groundRules(), lookRules(), limingRules(), layerRules(), smoothRules(), repairRules(), surfaceRules(), woodRules(), pointRules(), dryRules(), coatRules())

var rules = slices.Concat(stepRules, []Rule{skippedGrades, matchGrit, colourMatch, filmCheck, hardwareCheck}, floorRules())

// brokenBy are the rules that a step breaks on a surface, in their order.
func brokenBy(s *surface, n *next) (all []*Rule) {
	for i := range stepRules {
		if stepRules[i].broken(s, n) {
			all = append(all, &stepRules[i])
		}
	}
	return all
}

func one(k Kind, why string) func(*surface, *next) []Step {
	return func(*surface, *next) []Step { return []Step{{Kind: k, Why: why}} }
}

// practice is the source of a rule of thumb.
const practice = "common practice"

func safetyRules() []Rule {
	const source = "16 CFR 1303 for the year; OSHA 29 CFR 1910.1025 and 40 CFR 745 for the work"
	return []Rule{
		{ID: "lead-untested", Severity: Stop, Source: source, Says: "Old coatings that may hold lead are tested before they are disturbed or repaired.",
			Why:     "Paint from before lead was banned, or of unknown age, is presumed to hold lead; sanding, scraping, brushing out or heating it makes dust and fume that poison, and a repair that is levelled later does too.",
			Instead: "Test for lead first. Until then no dry sanding, no scraping, no heat. Follow your local rules and licensed practice.",
			broken: func(s *surface, n *next) bool {
				repairs := n.Kind == GlueClamp || n.Kind == Fill
				return (n.Kind.Disturbs() || repairs) && s.lies() && !s.tested && s.mayHoldLead()
			},
			remedy: one(LeadTest, "the old coating may hold lead, so it is tested before anybody disturbs it")},
		{ID: "lead-dry-sanding", Severity: Stop, Source: source, Says: "A coating that holds lead is not sanded, scraped or brushed out dry.",
			Why:     "The dust is poisonous and stays in the shop.",
			Instead: "Take it off wet, by a chemical stripper and with the controls your local rules ask for, or leave it to licensed people.",
			broken: func(s *surface, n *next) bool {
				return n.is.dry && s.lies() && !s.coated && s.Lead == LeadFound && s.mayHoldLead()
			},
			remedy: stripFor("the old coating holds lead, so it comes off wet and is never sanded dry")},
	}
}

// lies reports an old coating that is still there.
func (s *surface) lies() bool { return s.OldFinish != "" && !s.off }

// ifLeadFree adds to why an old coating is worked on dry that it is so only if it holds no
// lead.
func (s *surface) ifLeadFree(why string) string {
	if s.lies() && !s.coated && s.Lead == LeadUntested && s.mayHoldLead() {
		return why + "; it is done only if the test finds no lead, and if it finds some the plan is amended so that the coating comes off wet"
	}
	return why
}

// stripFor takes the old finish off.
func stripFor(why string) func(*surface, *next) []Step {
	return one(Strip, why+"; the stripper dwells as its maker says, the finish is lifted off, and that is repeated until the wood is bare")
}
