package workflow

import (
	"reflect"
	"slices"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Renew takes from the stages as they now are what is waited for of each clock: a plan may
// have been amended, or a stage sent back, since it began.
func (p *Plan) Renew() {
	for i := range p.Clocks {
		c := &p.Clocks[i]
		s, err := p.Stage(c.Stage)
		switch {
		case err != nil: // nothing waits for it
		case s.Pass() == c.Pass:
			c.Needs, c.Recoats = p.needed(*s), p.recoats(*s)
		default: // the stage itself comes next
			c.Needs, c.Recoats = s.Needs, finish.Kind(s.Kind).LeavesFilm()
			if c.Needs == finish.NeedsNothing {
				c.Needs = finish.NeedsRecoat
			}
		}
	}
}

// recoats reports whether a later stage lays another coat there.
func (p *Plan) recoats(s Stage) bool {
	return slices.ContainsFunc(p.Stages, func(next Stage) bool {
		return next.Position > s.Position && touches(s.Part, next) && finish.Kind(next.Kind).LeavesFilm()
	})
}

// takenAway leaves of what is wet what is still there once a stage is finished: not what
// its pass before left, nor a film that it took off. Sanding takes off the coats that were
// sent back with it.
func (p *Plan) takenAway(s Stage) {
	kind := finish.Kind(s.Kind)
	p.Clocks = slices.DeleteFunc(p.Clocks, func(c DryClock) bool {
		if c.Stage == s.ID {
			return true
		}
		if c.Kind != FilmDries || c.Laid.After(s.FinishedAt) || (s.Part != id.Nil && s.Part != c.Part) {
			return false
		}
		of, err := p.Stage(c.Stage)
		return kind == finish.Strip || kind == finish.Scrape ||
			kind == finish.Sand && err == nil && of.Pass() > c.Pass && of.Position > s.Position
	})
}

// Gone are the clocks, by their stages, that were kept and are no more.
func (p *Plan) Gone() (stages []id.ID) {
	for _, k := range p.Kept {
		if !slices.ContainsFunc(p.Clocks, func(c DryClock) bool { return c.Stage == k.Stage }) {
			stages = append(stages, k.Stage)
		}
	}
	return stages
}

// Unsaved are the clocks that are not as they are kept.
func (p *Plan) Unsaved() (changed []DryClock) {
	for _, c := range p.Clocks {
		if !slices.ContainsFunc(p.Kept, func(k DryClock) bool { return reflect.DeepEqual(k, c) }) {
			changed = append(changed, c)
		}
	}
	return changed
}

// needed is what the stages right after a stage need of it: the least, for one of them may
// begin then; of another coat when nobody says.
func (p *Plan) needed(s Stage) finish.Needs {
	after := p.rightAfter(s)
	for _, n := range []finish.Needs{finish.NeedsSand, finish.NeedsRecoat, finish.NeedsCured} {
		if slices.ContainsFunc(after, func(next Stage) bool { return next.asks() == n }) {
			return n
		}
	}
	return finish.NeedsRecoat
}

// rightAfter are the stages right after one; where it was looked at and passed, those after
// that.
func (p *Plan) rightAfter(s Stage) (out []Stage) {
	for _, next := range p.Stages {
		switch {
		case !slices.Contains(next.After, s.ID):
		case next.inspects() && next.Finished():
			out = append(out, p.rightAfter(next)...)
		default:
			out = append(out, next)
		}
	}
	return out
}
