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
	Floor    bool   // only somebody at the piece can judge it, so no check finds it
	broken   func(s *surface, next Step) bool
	remedy   func(s *surface, next Step) []Step // nil: none can be put in
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

// stepRules are those that a step breaks by itself.
var stepRules = slices.Concat(safetyRules(), groundRules(), limingRules(), surfaceRules(), lookRules(), layerRules(), coatRules())

var rules = slices.Concat(stepRules, []Rule{skippedGrades, matchGrit, colourMatch}, floorRules())

// brokenBy are the rules that a step breaks on a surface, in their order.
func brokenBy(s *surface, n Step) (all []Rule) {
	for i := range stepRules {
		if stepRules[i].broken(s, n) {
			all = append(all, stepRules[i])
		}
	}
	return all
}

func one(k Kind, why string) func(*surface, Step) []Step {
	return func(*surface, Step) []Step { return []Step{{Kind: k, Why: why}} }
}

func abrades(k Kind) bool { return k == Sand || k == ScuffSand }

// touches reports a kind that works on the surface itself, or leaves something on it.
func touches(k Kind) bool {
	return layers[k] || abrades(k) || k == RaiseGrain || k == OpenPores || k == SpotSeal || k == Mask
}

// handles are the kinds in which the film is gripped, pressed and laid on something.
var handles = map[Kind]bool{HardwareOn: true, WrapUp: true}

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
