package drying

import (
	"math"
	"time"
)

// following are the milestones that none can have reached which has not reached one. A film
// that is tacky takes no next coat, though makers may state it sooner.
var following = [milestones][]Milestone{
	SetToTouch:  {TackFree, DryToSand, DryToRecoat, RecoatCloses, Cured},
	TackFree:    {DryToSand, DryToRecoat, RecoatCloses, Cured},
	DryToSand:   {Cured},
	DryToRecoat: {RecoatCloses, Cured},
}

// Following are the milestones that a film has not reached either which has not reached
// this one, this one the first.
func (m Milestone) Following() []Milestone { return append([]Milestone{m}, following[m]...) }

// Still forecasts a milestone that was seen not yet there at an instant, and those that
// follow it, as far as the maker states them: by the product's factor, and the chance of
// this job as far as the sighting leaves it open. All times lie behind the sighting.
// Faults: those of Forecast; NOT_STATED, of the milestone; OUTCOME_BACKWARDS, of a sighting
// before the coat was laid.
func (p Product) Still(c *Curve, coat Coat, m Milestone, at time.Time) (map[Milestone]Window, error) {
	seen, err := p.Stands(c, coat, Outcome{Milestone: m, NotYet: at})
	if err != nil {
		return nil, err
	}
	slower, err := p.Slows(coat)
	if err != nil {
		return nil, err
	}
	out := map[Milestone]Window{}
	for _, m := range m.Following() {
		if p.Stated[m] != 0 {
			out[m] = p.Factor.above(seen.Low).window(c, coat.At, p.Stated[m].Hours()*slower).after(at)
		}
	}
	return out, nil
}

// instant is the smallest step of an instant that is kept.
const instant = time.Millisecond

// after is the window, none of it sooner than just after an instant.
func (w Window) after(at time.Time) Window {
	for _, t := range []*time.Time{&w.Early, &w.Likely, &w.Late} {
		if !t.IsZero() && !t.After(at) { // zero is never, which is later than all
			*t = at.Add(instant)
		}
	}
	return w
}

// coming is what is thought of the factor of one coat: of all that may be, or of what lies
// above a logarithm, for it was seen to be slower.
type coming struct {
	Factor
	low float64 // −Inf: nobody looked
}

func (f Factor) above(low float64) coming { return coming{f.orPrior(), low} }

// quantiles are the tenth and the ninetieth percentile of the coat's factor: the belief in the
// product's, the chance of the job, and a doubt beside them (a standard deviation of the
// logarithm). What is likely is by the chance of the job alone: the sighting that leaves a
// part of it has already moved the mean of the belief.
func (f coming) quantiles(doubt float64) (early, late float64) {
	spread := math.Hypot(math.Hypot(f.LogStdDev, jobStdDev), doubt)
	return f.quantile(0.1, spread), f.quantile(0.9, spread)
}

// quantile is the factor below which a share of the chance lies, of a logarithm with a
// spread.
func (f coming) quantile(share, spread float64) float64 {
	return math.Exp(f.LogMean + spread*beyond((f.low-f.LogMean)/spread, share))
}

// far is where the normal tail is no longer told from 0 by Erfc⁻¹, in standard deviations.
const far = 5

// beyond is the standard normal value, of those above low, below which a share of the chance
// lies. Far out the tail falls as exp(−z²/2).
func beyond(low, share float64) float64 {
	if low > far {
		return math.Sqrt(low*low - 2*math.Log(1-share))
	}
	return math.Sqrt2 * math.Erfcinv(2*below(-low)*(1-share))
}
