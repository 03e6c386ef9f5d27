package workflow

import (
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Stage is a step on one part of a piece, or on the whole piece.
type Stage struct {
	ID         id.ID
	Piece      id.ID
	Part       id.ID // id.Nil: the whole piece
	PartLabel  string
	Key        string
	Kind       string
	Skill      string
	SkillLevel int32 // the least; 0: any
	Position   int32 // in the order of the work
	Attended   time.Duration
	Unattended time.Duration
	After      []id.ID
	SentBack   []time.Time // oldest first
	FinishedAt time.Time
	Assignee   id.ID // id.Nil: nobody
	AssignedTo string
	Helpers    []Helper // who has it beside the assignee
	Batch      id.ID    // the open one that it is run in; id.Nil: none
	Finish
}

// Helper is somebody who has a stage beside its assignee.
type Helper struct {
	ID   id.ID
	Name string
}

// Title names the stage for people: "sand (top)".
func (s Stage) Title() string {
	if s.PartLabel == "" {
		return s.Key
	}
	return s.Key + " (" + s.PartLabel + ")"
}

// Has reports whether the person may work on it: it is theirs, alone or beside others, or
// nobody's.
func (s Stage) Has(person id.ID) bool {
	return s.Assignee == id.Nil || s.Assignee == person || slices.ContainsFunc(s.Helpers, func(h Helper) bool { return h.ID == person })
}

// Finished reports whether the stage is done in its present pass.
func (s Stage) Finished() bool { return !s.FinishedAt.IsZero() }

// Pass is the present pass: 1, or more after the stage was sent back.
func (s Stage) Pass() int32 { return int32(1 + len(s.SentBack)) }

// PassAt is the pass of work that was begun at an instant.
func (s Stage) PassAt(at time.Time) int32 {
	pass := int32(1)
	for _, back := range s.SentBack {
		if !at.Before(back) {
			pass++
		}
	}
	return pass
}

// passBegan is when the stage was last sent back, or the zero time.
func (s Stage) passBegan() (t time.Time) { return latest(t, s.SentBack...) }

// PartRoute is a part and the route it takes.
type PartRoute struct {
	Part  id.ID
	Label string
	// Of all alike together, m²; 0: nobody measured it.
	AreaM2 float64
	Route  Route
	// What steps of the route are done with, by their keys; see TakeProducts.
	Takes map[string]StepProduct
}

// most is how many stages a piece can have: far more than any furniture has, and few
// enough that all of them fit into one answer and one event.
const most = 500

// LayOut makes the stages of a piece: a step on a part once for each part, a step on the
// piece once, after all the parts that lead to it. newID names them. Faults:
// ROUTES_DISAGREE, when two routes mean different things by one step on the piece;
// ROUTES_GO_ROUND, when together they ask a stage to come after itself; PLAN_TOO_LARGE.
func LayOut(piece id.ID, parts []PartRoute, newID func() id.ID) ([]Stage, error) {
	l := layout{piece: piece, newID: newID, at: map[place]*Stage{}}
	for _, p := range parts {
		for _, step := range p.Route.Steps {
			if err := l.add(p, step); err != nil {
				return nil, err
			}
		}
	}
	if len(l.stages) > most {
		return nil, fault.New(fault.Invalid, "PLAN_TOO_LARGE",
			"That makes %d stages, and a piece can have %d. Plan alike parts as one part with a count.", len(l.stages), most).At("parts")
	}
	for _, p := range parts {
		for _, step := range p.Route.Steps {
			l.connect(p, step)
		}
	}
	return l.inOrder()
}

// place is where a step is done.
type place struct {
	part id.ID
	key  string
}

type layout struct {
	piece  id.ID
	newID  func() id.ID
	at     map[place]*Stage
	stages []*Stage
}

func placeOf(p PartRoute, s Step) place {
	if s.Scope == OnPiece {
		return place{id.Nil, s.Key}
	}
	return place{p.Part, s.Key}
}

func (l *layout) add(p PartRoute, step Step) error {
	at := placeOf(p, step)
	if there := l.at[at]; there != nil {
		if there.Kind != step.Kind || there.Skill != step.Skill || there.SkillLevel != step.SkillLevel || there.Station != step.Station {
			return fault.New(fault.Invalid, "ROUTES_DISAGREE",
				"The routes of this piece mean different things by the step %q on the whole piece; give it the same kind and skill in all of them.", step.Key).At("parts")
		}
		there.Attended, there.Unattended = max(there.Attended, step.Attended), max(there.Unattended, step.Unattended)
		return there.take(p.Takes[step.Key])
	}
	s := &Stage{ID: l.newID(), Piece: l.piece, Part: at.part, Key: step.Key, Kind: step.Kind, Skill: step.Skill, SkillLevel: step.SkillLevel,
		Attended: step.Attended, Unattended: step.Unattended,
		Finish: Finish{Needs: finish.NeedsRecoat, Station: step.Station, Product: p.Takes[step.Key].Product, ProductName: p.Takes[step.Key].Name, Cautions: p.Takes[step.Key].Warns}}
	if at.part != id.Nil {
		s.PartLabel, s.AreaM2 = p.Label, p.AreaM2
	}
	l.at[at] = s
	l.stages = append(l.stages, s)
	return nil
}

// connect adds what the step comes after. On the piece, that gathers over all parts.
func (l *layout) connect(p PartRoute, step Step) {
	s := l.at[placeOf(p, step)]
	for _, key := range step.After {
		i := slices.IndexFunc(p.Route.Steps, func(s Step) bool { return s.Key == key })
		before := l.at[placeOf(p, p.Route.Steps[i])]
		if !slices.Contains(s.After, before.ID) {
			s.After = append(s.After, before.ID)
		}
	}
}

// inOrder numbers the stages so that each comes after all it depends on: first those that
// depend on nothing, then those that only depend on these, and so on.
func (l *layout) inOrder() ([]Stage, error) {
	var out []Stage
	done := map[id.ID]bool{}
	for left := l.stages; len(left) > 0; {
		var next, later []*Stage
		for _, s := range left {
			if slices.ContainsFunc(s.After, func(before id.ID) bool { return !done[before] }) {
				later = append(later, s)
			} else {
				next = append(next, s)
			}
		}
		if len(next) == 0 {
			return nil, fault.New(fault.Invalid, "ROUTES_GO_ROUND",
				"Taken together, the routes of this piece ask %s to come after itself; change what comes after what.", left[0].Title()).At("parts")
		}
		for _, s := range next {
			done[s.ID] = true
			s.Position = int32(len(out) + 1)
			out = append(out, *s)
		}
		left = later
	}
	presume(out)
	return out, nil
}
