package workflow

import (
	"math"

	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Observe keeps what somebody felt of the film. It gives what is now known of that milestone,
// for the product to learn from. The clock is still to be computed anew. Faults: NO_FILM and
// those of drying.Product.Stands.
func (c *DryClock) Observe(o drying.Outcome, airs *Airs) (drying.Interval, error) {
	if c.Kind != FilmDries || c.Product == id.Nil {
		return drying.Interval{}, fault.New(fault.Precondition, "NO_FILM",
			"%s left no film of a product there, so there is no drying time to learn from it.", c.StageTitle).At("stage")
	}
	curve, err := airs.curve(c.Dries.Kinetics, c.Stays)
	if err != nil {
		return drying.Interval{}, err
	}
	o = c.statedOne(o)
	if _, err := c.Dries.Stands(curve, c.coat(), o); err != nil {
		return drying.Interval{}, atOutcome(err)
	}
	c.feel(o)
	felt := c.Felt[o.Milestone]
	return c.Dries.Stands(curve, c.coat(), drying.Outcome{Milestone: o.Milestone, NotYet: felt.NotYet, Reached: felt.Reached})
}

// past are the milestones that a film has not reached either while it has not reached one.
var past = map[drying.Milestone][]drying.Milestone{
	drying.SetToTouch: {drying.TackFree, drying.DryToSand, drying.DryToRecoat, drying.Cured},
	drying.TackFree:   {drying.DryToSand, drying.DryToRecoat, drying.Cured},
	drying.DryToSand:  {drying.DryToRecoat, drying.Cured}, drying.DryToRecoat: {drying.Cured},
}

// statedOne takes what was seen not yet to have come for the next milestone that the product
// states, where it does not state the one that was looked for: a film that is still tacky
// takes no coat.
func (c *DryClock) statedOne(o drying.Outcome) drying.Outcome {
	if o.NotYet.IsZero() || !o.Reached.IsZero() || c.Dries.Stated[o.Milestone] != 0 {
		return o
	}
	for _, m := range past[o.Milestone] {
		if c.Dries.Stated[m] != 0 {
			o.Milestone = m
			break
		}
	}
	return o
}

// atOutcome names the field of the request that package drying means.
func atOutcome(err error) error {
	f := fault.Of(err)
	if f == nil || f.Reason == "NOT_STATED" {
		return err
	}
	return f.At("reached_time")
}

// feel adds to what was felt of the milestone; of what cannot both be, the newer holds.
func (c *DryClock) feel(o drying.Outcome) {
	felt := c.Felt[o.Milestone]
	if !o.NotYet.IsZero() {
		felt.NotYet = o.NotYet
	}
	if !o.Reached.IsZero() {
		felt.Reached = o.Reached
	}
	if !felt.Reached.IsZero() && !felt.Reached.After(felt.NotYet) {
		felt = Felt{o.NotYet, o.Reached}
	}
	all := map[drying.Milestone]Felt{o.Milestone: felt}
	for m, f := range c.Felt {
		if m != o.Milestone {
			all[m] = f
		}
	}
	c.Felt = all
}

// ninetyFifth is the standard normal quantile of 0.95, beyond which lies a tenth on both
// sides together.
const ninetyFifth = 1.6448536269514722

// FactorRange is between what a product's usual factor lies nine times in ten, as far as is
// known.
func FactorRange(f drying.Factor) (low, high float64) {
	spread := ninetyFifth * f.LogStdDev
	return math.Exp(f.LogMean - spread), math.Exp(f.LogMean + spread)
}
