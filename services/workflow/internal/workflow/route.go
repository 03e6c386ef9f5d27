package workflow

import (
	"regexp"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Scope says what a step is done on.
type Scope string

// The scopes of a step.
const (
	OnPart  Scope = "part"
	OnPiece Scope = "piece"
)

// Step is one step of a route.
type Step struct {
	Key        string
	Kind       string
	Scope      Scope
	After      []string // keys
	Skill      string
	SkillLevel int32  // the least; 0: any
	Station    string // booth, bench, rack, outdoors; empty: anywhere
	Attended   time.Duration
	Unattended time.Duration
}

// Route is a named partial order of steps.
type Route struct {
	ID      id.ID
	Word    string
	Steps   []Step
	Version int64
}

// StepProduct is what steps of a key are done with on a piece.
type StepProduct struct {
	Step    string
	Part    id.ID // id.Nil: on all parts whose route has the step, and on the piece
	Product id.ID
	Name    string
	Warns   []string // ids of the cautions that go with it, see PlanProduct.Warns
	Field   string   // of the request
}

var word = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// Check refuses a route that cannot be laid out. Faults: ROUTE_NAME_MALFORMED,
// ROUTE_STEP_TWICE, ROUTE_STEP_UNKNOWN, ROUTE_GOES_ROUND.
func (r Route) Check() error {
	if !word.MatchString(r.Word) || len(r.Word) > 60 {
		return fault.New(fault.Invalid, "ROUTE_NAME_MALFORMED",
			"A route's name is lower-case words joined by hyphens, such as routes/oiled-oak.").At("route.name")
	}
	byKey := make(map[string]Step, len(r.Steps))
	for _, s := range r.Steps {
		if _, twice := byKey[s.Key]; twice {
			return fault.New(fault.Invalid, "ROUTE_STEP_TWICE", "The route has two steps %q; each key names one.", s.Key).At("route.steps")
		}
		byKey[s.Key] = s
	}
	for _, s := range r.Steps {
		for _, key := range s.After {
			if _, known := byKey[key]; !known {
				return fault.New(fault.Invalid, "ROUTE_STEP_UNKNOWN", "Step %q comes after %q, which the route does not have.", s.Key, key).At("route.steps")
			}
		}
	}
	if key, round := goesRound(byKey); round {
		return fault.New(fault.Invalid, "ROUTE_GOES_ROUND", "Step %q would have to come after itself.", key).At("route.steps")
	}
	return nil
}

// goesRound finds a step that leads back to itself.
func goesRound(byKey map[string]Step) (string, bool) {
	const open, done = 1, 2
	state := make(map[string]int, len(byKey))
	var visit func(key string) bool
	visit = func(key string) bool {
		state[key] = open
		for _, before := range byKey[key].After {
			if state[before] == open || (state[before] == 0 && visit(before)) {
				return true
			}
		}
		state[key] = done
		return false
	}
	for key := range byKey {
		if state[key] == 0 && visit(key) {
			return key, true
		}
	}
	return "", false
}

// TakeProducts says with what the steps of parts are done: what is named for a part goes before
// what is named for all. Faults: ROUTE_STEP_TWICE, ROUTE_STEP_UNKNOWN.
func TakeProducts(parts []PartRoute, named []StepProduct) error {
	for i, n := range named {
		if slices.ContainsFunc(named[:i], func(o StepProduct) bool { return o.Step == n.Step && o.Part == n.Part }) {
			return fault.New(fault.Invalid, "ROUTE_STEP_TWICE", "The step %q is given a product twice; give it one.", n.Step).At(n.Field + ".step")
		}
		known := false
		for j := range parts {
			known = parts[j].take(n) || known
		}
		if !known {
			return fault.New(fault.Invalid, "ROUTE_STEP_UNKNOWN", "No route that is taken there has a step %q; name it as the route does.", n.Step).At(n.Field + ".step")
		}
	}
	return nil
}

// take notes with what a step of the part is done, if it is a step of it.
func (p *PartRoute) take(n StepProduct) bool {
	if n.Part != id.Nil && n.Part != p.Part || !slices.ContainsFunc(p.Route.Steps, func(s Step) bool { return s.Key == n.Step }) {
		return false
	}
	if p.Takes == nil {
		p.Takes = map[string]StepProduct{}
	}
	if p.Takes[n.Step].Part == id.Nil {
		p.Takes[n.Step] = n
	}
	return true
}

// take has a stage of the whole piece done with what another part names for it, or nothing.
// Fault: ROUTES_DISAGREE.
func (s *Stage) take(n StepProduct) error {
	switch {
	case n.Product == id.Nil || n.Product == s.Product:
	case s.Product != id.Nil:
		return fault.New(fault.Invalid, "ROUTES_DISAGREE",
			"The step %q is done once on the whole piece, and is to be done with %s and with %s; name one of them.", n.Step, s.ProductName, n.Name).At(n.Field + ".product")
	default:
		s.Product, s.ProductName, s.Cautions = n.Product, n.Name, n.Warns
	}
	return nil
}
