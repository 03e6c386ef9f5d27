package workflow

import (
	"math"

	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Observe learns from what somebody felt of the film, keeps it above the forecast, and
// computes the clock anew. Faults: NO_FILM and those of drying.Product.Calibrate.
func (c *DryClock) Observe(o drying.Outcome, airs *Airs) (drying.Factor, error) {
	if c.Kind != FilmDries || c.Product == id.Nil {
		return drying.Factor{}, fault.New(fault.Precondition, "NO_FILM",
			"%s left no film of a product there, so there is no drying time to learn from it.", c.StageTitle).At("stage")
	}
	curve, err := airs.curve(c.Dries.Kinetics, c.Stays)
	if err != nil {
		return drying.Factor{}, err
	}
	factor, err := c.Dries.Calibrate(curve, c.coat(), o)
	if err != nil {
		return drying.Factor{}, atOutcome(err)
	}
	c.Dries.Factor = factor
	c.feel(o)
	return factor, c.Forecast(airs)
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
	if c.Felt == nil {
		c.Felt = map[drying.Milestone]Felt{}
	}
	c.Felt[o.Milestone] = felt
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
