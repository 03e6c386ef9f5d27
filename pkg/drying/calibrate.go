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
	Outcomes  int     // how many coats it was learned from
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
	seen, err := p.Stands(c, coat, o)
	if err != nil {
		return Factor{}, err
	}
	b := p.Factor.belief()
	if !b.given(seen) {
		return Factor{}, fault.New(fault.Invalid, "OUTCOME_IMPOSSIBLE",
			"By what is known of the product this can hardly be; check the times, the film and the readings.").At("reached")
	}
	return b.factor(p.Factor.Outcomes + 1), nil
}

// Stands is what an outcome stands for: between which factors the coat's own lies. Faults:
// those of Forecast; OUTCOME_EMPTY, OUTCOME_BACKWARDS, NOT_STATED.
func (p Product) Stands(c *Curve, coat Coat, o Outcome) (Interval, error) {
	slower, err := p.Slows(coat)
	if err != nil {
		return Interval{}, err
	}
	if c.empty() {
		return Interval{}, errNoReadings
	}
	switch {
	case o.Milestone < 0 || o.Milestone >= milestones || p.Stated[o.Milestone] == 0:
		return Interval{}, fault.New(fault.Invalid, "NOT_STATED", "The product does not state when it is %s, so nothing can be learned about that; it states when it is %s.", o.Milestone, p.says()).At("milestone")
	case o.NotYet.IsZero() && o.Reached.IsZero():
		return Interval{}, fault.New(fault.Invalid, "OUTCOME_EMPTY", "Say when it was seen not yet %s, or when it was.", o.Milestone).At("reached")
	case !o.NotYet.IsZero() && !o.Reached.IsZero() && !o.Reached.After(o.NotYet),
		o.NotYet.Before(coat.At) && !o.NotYet.IsZero(), o.Reached.Before(coat.At) && !o.Reached.IsZero():
		return Interval{}, fault.New(fault.Invalid, "OUTCOME_BACKWARDS", "The coat was laid, then seen not yet %[1]s, then %[1]s; the times are in another order.", o.Milestone).At("reached")
	}
	needed := p.Stated[o.Milestone].Hours() * slower
	seen := anywhere
	if !o.NotYet.IsZero() {
		seen.Low = math.Log(c.Dose(coat.At, o.NotYet) / needed)
	}
	if !o.Reached.IsZero() {
		seen.High = math.Log(c.Dose(coat.At, o.Reached) / needed)
	}
	return seen, nil
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
