package drying

import (
	"math"
	"time"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Factor is how many times longer a product takes here than its maker says, all else taken
// into account: a log-normal belief. The zero Factor is that of a product nobody has
// timed: the maker is right on the whole, to a factor of about one and a half.
type Factor struct {
	LogMean   float64 // of what is usual, −3 to 3
	LogStdDev float64 // of the belief in it, 0 to 2
	Outcomes  int     // how many it was learned from
}

// Common practice: how far products are from what is stated, and how far one job is from
// another with the same product.
const (
	priorStdDev = 0.4
	jobStdDev   = 0.2
)

func (f Factor) orPrior() Factor {
	if f == (Factor{}) {
		f.LogStdDev = priorStdDev
	}
	return f
}

func (f Factor) check() error {
	if err := dimension.Within("log factor", f.LogMean, -3, 3, ""); err != nil {
		return err
	}
	return dimension.Within("spread of the log factor", f.LogStdDev, 0, 2, "")
}

// ninetieth is the standard normal quantile of 0.9.
const ninetieth = 1.2815515655446004

// quantiles is for the next job, as shares of the likely time: the belief, the chance of the
// job, and a doubt beside them (a standard deviation of the logarithm).
func (f Factor) quantiles(doubt float64) (early, late float64) {
	spread := ninetieth * math.Hypot(math.Hypot(f.orPrior().LogStdDev, jobStdDev), doubt)
	return math.Exp(-spread), math.Exp(spread)
}

// Usual is the factor in a word: 1.2 is a fifth longer than stated.
func (f Factor) Usual() float64 { return math.Exp(f.LogMean) }

// Outcome is what somebody saw of a milestone: not yet at one time, and reached at another;
// either may be absent (zero).
type Outcome struct {
	Milestone Milestone
	NotYet    time.Time // «still tacky at 14:00»
	Reached   time.Time // «dry at 16:30»
}

// Calibrate learns from one more coat. The factor's belief is multiplied by how likely the
// outcome is under each factor (interval censoring: the milestone was passed somewhere
// between the two times), and its mean and spread are taken again. Faults: those of
// Forecast; OUTCOME_EMPTY, OUTCOME_BACKWARDS, NOT_STATED, OUTCOME_IMPOSSIBLE.
func (p Product) Calibrate(c *Curve, coat Coat, o Outcome) (Factor, error) {
	low, high, err := p.between(c, coat, o)
	if err != nil {
		return Factor{}, err
	}
	prior := p.Factor.orPrior()
	return prior.given(low, high)
}

// between are the logarithms of the factors that the two sightings stand for.
func (p Product) between(c *Curve, coat Coat, o Outcome) (low, high float64, err error) {
	slower, err := p.slower(coat)
	if err != nil {
		return 0, 0, err
	}
	if c.empty() {
		return 0, 0, errNoReadings
	}
	switch {
	case o.Milestone < 0 || o.Milestone >= milestones || p.Stated[o.Milestone] == 0:
		return 0, 0, fault.New(fault.Invalid, "NOT_STATED", "The product does not state when it is %s, so nothing can be learned about it.", o.Milestone).At("milestone")
	case o.NotYet.IsZero() && o.Reached.IsZero():
		return 0, 0, fault.New(fault.Invalid, "OUTCOME_EMPTY", "Say when it was seen not yet %s, or when it was.", o.Milestone).At("reached")
	case !o.NotYet.IsZero() && !o.Reached.IsZero() && !o.Reached.After(o.NotYet),
		o.NotYet.Before(coat.At) && !o.NotYet.IsZero(), o.Reached.Before(coat.At) && !o.Reached.IsZero():
		return 0, 0, fault.New(fault.Invalid, "OUTCOME_BACKWARDS", "The coat was laid, then seen not yet %[1]s, then %[1]s; the times are in another order.", o.Milestone).At("reached")
	}
	needed := p.Stated[o.Milestone].Hours() * slower
	low, high = math.Inf(-1), math.Inf(1)
	if !o.NotYet.IsZero() {
		low = math.Log(c.Dose(coat.At, o.NotYet) / needed)
	}
	if !o.Reached.IsZero() {
		high = math.Log(c.Dose(coat.At, o.Reached) / needed)
	}
	return low, high, nil
}

// grid is in how many places the belief is looked at, over six of its spreads each way.
const grid = 801

// given is the belief after an outcome, by quadrature.
func (f Factor) given(low, high float64) (Factor, error) {
	var sum, first, second float64
	step := 12 * f.LogStdDev / (grid - 1)
	for i := range grid {
		x := f.LogMean + (float64(i)-(grid-1)/2)*step
		d := (x - f.LogMean) / f.LogStdDev
		w := math.Exp(-d*d/2) * interval((low-x)/jobStdDev, (high-x)/jobStdDev)
		sum, first, second = sum+w, first+w*x, second+w*x*x
	}
	if !(sum > 1e-12) {
		return Factor{}, fault.New(fault.Invalid, "OUTCOME_IMPOSSIBLE",
			"By what is known of the product this can hardly be; check the times, the film and the readings.").At("reached")
	}
	mean := first / sum
	return Factor{LogMean: mean, LogStdDev: math.Sqrt(math.Max(1e-6, second/sum-mean*mean)), Outcomes: f.Outcomes + 1}, nil
}

// interval is the chance of a standard normal between two values, without loss where both
// are far out.
func interval(low, high float64) float64 {
	if low > 0 {
		low, high = -high, -low
	}
	return below(high) - below(low)
}

func below(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
