package workflow

import (
	"time"

	"tackfree/pkg/drying"
)

// Forecast computes the clock anew from the air of its zones, what is known of its product
// and what was felt. Faults: OUT_OF_RANGE, of a film that nobody lays; those of
// drying.Product.Forecast.
func (c *DryClock) Forecast(airs *Airs) error {
	windows, err := c.windows(airs)
	if err != nil {
		return err
	}
	c.Windows, c.Seen, c.Learned = windows, airs.Count(c.Stays), c.Lessons
	c.heed()
	return nil
}

func (c *DryClock) windows(airs *Airs) (map[drying.Milestone]drying.Window, error) {
	if c.Kind == MinutesPass {
		over := c.Laid.Add(c.Planned)
		return map[drying.Milestone]drying.Window{drying.Cured: {Early: over, Likely: over, Late: over}}, nil
	}
	curve, err := airs.curve(c.Dries.Kinetics, c.Stays)
	if err != nil {
		return nil, err
	}
	windows, err := c.Dries.Forecast(curve, c.coat())
	if err != nil {
		return nil, err
	}
	for m, felt := range c.Felt {
		if _, stated := windows[m]; !stated || felt.NotYet.IsZero() {
			continue
		}
		still, err := c.Dries.Still(curve, c.coat(), m, felt.NotYet)
		if err != nil {
			return nil, err
		}
		for m, w := range still {
			windows[m] = laterWindow(windows[m], w)
		}
	}
	for m, w := range windows {
		windows[m] = drying.Window{Early: whole(w.Early), Likely: whole(w.Likely), Late: whole(w.Late)}
	}
	return windows, err
}

// whole takes an instant to the milliseconds that instants come in.
func whole(t time.Time) time.Time { return t.UTC().Truncate(time.Millisecond) }

func (c *DryClock) coat() drying.Coat { return drying.Coat{At: c.Laid, FilmUm: c.FilmUm} }

// sooner are the milestones that a film must have passed to reach one.
var sooner = map[drying.Milestone][]drying.Milestone{
	drying.TackFree:    {drying.SetToTouch},
	drying.DryToSand:   {drying.SetToTouch, drying.TackFree},
	drying.DryToRecoat: {drying.SetToTouch},
	drying.Cured:       {drying.SetToTouch, drying.TackFree, drying.DryToSand, drying.DryToRecoat},
}

// heed puts what was felt above what was computed: a milestone is when it was seen there,
// and what it builds on is no later.
func (c *DryClock) heed() {
	for m, felt := range c.Felt {
		if felt.Reached.IsZero() {
			continue
		}
		c.Windows[m] = drying.Window{Early: felt.Reached, Likely: felt.Reached, Late: felt.Reached}
		for _, s := range sooner[m] {
			if w, known := c.Windows[s]; known {
				c.Windows[s] = notAfter(w, felt.Reached)
			}
		}
	}
}

func notAfter(w drying.Window, t time.Time) drying.Window {
	for _, at := range []*time.Time{&w.Early, &w.Likely, &w.Late} {
		if at.IsZero() || at.After(t) {
			*at = t
		}
	}
	return w
}
