package planning

import (
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// Wanted is what somebody wants to promise: something that comes in by a route, or a piece that is here.
type Wanted struct {
	Route *workflow.Route
	Piece id.ID
}

// Suggestion says by when it could be promised.
type Suggestion struct {
	Gentle  Option // where nothing else has to be moved
	Hurried Option // it goes first
	Steps   []Step // gently, at other chances
}

// Option is a way to promise something.
type Option struct {
	Step            // the promise, with its chance to be kept
	End   time.Time // when it is done by the plan
	Moves []Change  // what becomes of others
}

// Step is a promise at a chance.
type Step struct {
	Chance  float64
	Promise time.Time
}

// steps are the chances at which promises are told beside the one that is asked for.
var steps = []float64{0.5, 0.8, 0.9, 0.95}

// Suggest says by when something could be promised so that the promise is kept in that share of cases; now is the
// plan of the facts. Promises are for the end of a day on which somebody works. Fault: PROMISE_NOT_POSSIBLE.
func Suggest(f *Facts, now *Plan, w Wanted, chance float64) (*Suggestion, error) {
	facts, which, err := f.want(w)
	if err != nil {
		return nil, err
	}
	out, gentle := &Suggestion{}, (*asked)(nil)
	if gentle, err = facts.ask(now, which, false); err != nil {
		return nil, err
	}
	out.Gentle = gentle.option(now, chance)
	for _, c := range steps {
		out.Steps = append(out.Steps, gentle.step(c))
	}
	hurried, err := facts.ask(now, which, true)
	if err != nil {
		return nil, err
	}
	out.Hurried = hurried.option(now, chance)
	return out, nil
}

// want gives the facts with what is wanted and not promised, and which piece that is.
func (f *Facts) want(w Wanted) (*Facts, int, error) {
	if w.Route != nil {
		facts, err := f.Suppose(Supposed{Newcomers: []Newcomer{{Route: *w.Route}}})
		if err != nil {
			return nil, 0, err
		}
		return facts, len(facts.Pieces) - 1, nil
	}
	facts, err := f.Suppose(Supposed{Promises: []Promise{{Piece: w.Piece}}})
	if err != nil {
		return nil, 0, err
	}
	return facts, slices.IndexFunc(facts.Pieces, func(p Piece) bool { return p.Piece.ID == w.Piece }), nil
}

// asked is a plan with something in it that is to be promised.
type asked struct {
	*maker
	plan *Plan
	look *Outlook
}

// ask plans what is wanted into what is planned now: where nothing else is moved, or before all others.
func (f *Facts) ask(now *Plan, which int, hurried bool) (*asked, error) {
	facts := *f
	if hurried {
		facts.first = map[int]bool{which: true}
	}
	m, _, err := newMaker(&facts)
	if err != nil {
		return nil, err
	}
	solved, err := m.beside(m.slots(now.byStage()), !hurried)
	if err != nil {
		return nil, err
	}
	a := &asked{maker: m}
	if a.plan, err = m.plan(solved); err != nil {
		return nil, err
	}
	a.look = a.plan.of(&m.Pieces[which])
	if a.look.End.IsZero() {
		return nil, a.plan.impossible(a.look.Piece)
	}
	return a, nil
}

// of is what becomes of a piece.
func (p *Plan) of(piece *Piece) *Outlook {
	return &p.Pieces[slices.IndexFunc(p.Pieces, func(o Outlook) bool { return o.Piece == piece })]
}

// impossible is the refusal to promise a piece of which stages find no place.
func (p *Plan) impossible(piece *Piece) error {
	why := "It has stages that find no place."
	for _, u := range p.Unplaced {
		if u.Piece == piece {
			why = u.Says.Text
			break
		}
	}
	return fault.New(fault.Precondition, "PROMISE_NOT_POSSIBLE", "There is no time to promise it for. %s", why).With("why", why)
}

// option is the promise at a chance, with what becomes of others than is planned now.
func (a *asked) option(now *Plan, chance float64) Option {
	o := Option{Step: a.step(chance), End: a.look.End, Moves: Changes(now, a.plan)}
	o.Moves = slices.DeleteFunc(o.Moves, func(c Change) bool { return c.After == a.look })
	return o
}

// step is the end of the first working day by which it is done at least so surely.
func (a *asked) step(chance float64) Step {
	at := a.closing(a.look.By(chance))
	return Step{a.look.DoneBy(at), at}
}

// closing is when the last one goes home at or after an instant, of a day on which somebody works; the instant
// itself, where nobody does any more.
func (a *asked) closing(at time.Time) time.Time {
	ends := map[string]time.Time{}
	for _, w := range a.p.Workers {
		for _, c := range w.Calendar {
			end := a.instant(c.End)
			if day := end.Format(time.DateOnly); end.After(ends[day]) {
				ends[day] = end
			}
		}
	}
	first := time.Time{}
	for _, end := range ends {
		if !end.Before(at) && (first.IsZero() || end.Before(first)) {
			first = end
		}
	}
	if first.IsZero() {
		return at
	}
	return first
}
