package workflow

import (
	"time"

	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Wait is what a stage waits for below it before it can begin.
type Wait struct {
	For    *DryClock     // what takes longest; nil: nothing dries below it
	Until  drying.Window // a zero Likely is never, in this air
	Closes time.Time     // from when on what it lays must be scuffed for first; zero: never
}

// Over reports whether the stage need not wait at an instant.
func (w Wait) Over(now time.Time) bool { return w.For == nil || w.Until.Passed(now) }

// Wait tells what a stage waits for: for the films on its part as far as it needs them, for
// wet wood and glue always.
func (p *Plan) Wait(s Stage) (w Wait) {
	needs := s.asks()
	for i := range p.Clocks {
		c := &p.Clocks[i]
		if !touches(c.Part, s) || (c.Kind == FilmDries && needs == finish.NeedsNothing) {
			continue
		}
		ready := c.Reaches(needs)
		if c.Kind != FilmDries {
			ready = c.Windows[drying.Cured]
		}
		if w.For == nil {
			w.For, w.Until = c, ready
			continue
		}
		if later(ready.Likely, w.Until.Likely) {
			w.For = c
		}
		w.Until = laterWindow(w.Until, ready)
	}
	w.Closes = p.closes(s)
	return w
}

// later reports whether one time is after another; zero is never, which is after all.
func later(a, b time.Time) bool { return !b.IsZero() && (a.IsZero() || a.After(b)) }

func laterWindow(a, b drying.Window) drying.Window {
	for _, pair := range []struct{ a, b *time.Time }{{&a.Early, &b.Early}, {&a.Likely, &b.Likely}, {&a.Late, &b.Late}} {
		if later(*pair.b, *pair.a) {
			*pair.a = *pair.b
		}
	}
	return a
}

// closes is when the window of the films that a coat would be laid on closes, the first of
// them: of each part that of its last film, if nobody dulled that since.
func (p *Plan) closes(s Stage) (first time.Time) {
	if !finish.Kind(s.Kind).LeavesFilm() {
		return first
	}
	last := map[id.ID]DryClock{}
	for _, c := range p.Clocks {
		if touches(c.Part, s) && c.Kind == FilmDries && !c.Laid.Before(last[c.Part].Laid) {
			last[c.Part] = c
		}
	}
	for _, c := range last {
		if at := c.Closes(); !at.IsZero() && (first.IsZero() || at.Before(first)) && !p.dulled(c) {
			first = at
		}
	}
	return first
}

// dulled reports whether a film was sanded since it was laid.
func (p *Plan) dulled(c DryClock) bool {
	for _, s := range p.Stages {
		kind := finish.Kind(s.Kind)
		if (kind == finish.ScuffSand || kind == finish.Sand) && touches(c.Part, s) && s.FinishedAt.After(c.Laid) {
			return true
		}
	}
	return false
}
