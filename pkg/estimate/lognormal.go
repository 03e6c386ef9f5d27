package estimate

import (
	"math"

	"tackfree/pkg/dimension"
)

// LogNormal is a time (minutes) or a price (minor units) whose logarithm is normal with mean Mu
// and standard deviation Sigma.
type LogNormal struct{ Mu, Sigma float64 }

// The shapes of times that are worth a forecast: a ten-thousandth of a minute to ten years, and not
// so wide that the mean says nothing.
const (
	minMu, maxMu = -10, 16
	maxSigma     = 3
	minMinutes   = 1e-4
	maxMinutes   = 5e6
)

func (l LogNormal) check() error {
	if err := dimension.Within("log mean", l.Mu, minMu, maxMu, ""); err != nil {
		return err
	}
	return dimension.Within("log spread", l.Sigma, 0, maxSigma, "")
}

// FromMean makes the log-normal of a mean in minutes (above 0) and a coefficient of
// variation (0 to 90). Fault: OUT_OF_RANGE. Source: NIST/SEMATECH e-Handbook of Statistical
// Methods, section 1.3.6.6.9, solved for the parameters.
func FromMean(mean, variation float64) (LogNormal, error) {
	if err := dimension.Within("mean", mean, minMinutes, maxMinutes, "min"); err != nil {
		return LogNormal{}, err
	}
	if err := dimension.Within("coefficient of variation", variation, 0, 90, ""); err != nil {
		return LogNormal{}, err
	}
	s2 := math.Log1p(variation * variation)
	return LogNormal{Mu: math.Log(mean) - s2/2, Sigma: math.Sqrt(s2)}, nil
}

// FromQuantiles makes the log-normal of a median and a longer time that a share of nine in
// ten stay under, both in minutes. Fault: OUT_OF_RANGE.
func FromQuantiles(median, ninetieth float64) (LogNormal, error) {
	if err := dimension.Within("median", median, minMinutes, maxMinutes, "min"); err != nil {
		return LogNormal{}, err
	}
	if err := dimension.Within("ninetieth percentile", ninetieth, median, maxMinutes, "min"); err != nil {
		return LogNormal{}, err
	}
	l := LogNormal{Mu: math.Log(median), Sigma: math.Log(ninetieth/median) / z(0.9)}
	if err := l.check(); err != nil {
		return LogNormal{}, err
	}
	return l, nil
}

// Median is the time that is as often kept as not, or the price that is as often reached.
func (l LogNormal) Median() float64 { return math.Exp(l.Mu) }

// Mean is the average, which is above the median.
func (l LogNormal) Mean() float64 { return math.Exp(l.Mu + l.Sigma*l.Sigma/2) }

// Mode is what comes most often, which is below the median.
func (l LogNormal) Mode() float64 { return math.Exp(l.Mu - l.Sigma*l.Sigma) }

// StdDev is the standard deviation, in minutes or minor units.
func (l LogNormal) StdDev() float64 { return l.Mean() * math.Sqrt(math.Expm1(l.Sigma*l.Sigma)) }

// Quantile is what a share p (above 0, below 1) stays under. Fault: OUT_OF_RANGE.
func (l LogNormal) Quantile(p float64) (float64, error) {
	if err := dimension.Within("share", p, 1e-9, 1-1e-9, ""); err != nil {
		return 0, err
	}
	return math.Exp(l.Mu + z(p)*l.Sigma), nil
}

// z is the standard normal quantile.
func z(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }

// PERT is the mean and standard deviation of a task by a best, a likely and a worst time,
// in any unit of time. Fault: OUT_OF_RANGE. Source: Malcolm, Roseboom, Clark and Fazar,
// Operations Research 7 (1959).
func PERT(best, likely, worst float64) (mean, stdDev float64, err error) {
	if err := dimension.Within("best time", best, 0, maxMinutes, ""); err != nil {
		return 0, 0, err
	}
	if err := dimension.Within("likely time", likely, best, maxMinutes, ""); err != nil {
		return 0, 0, err
	}
	if err := dimension.Within("worst time", worst, likely, maxMinutes, ""); err != nil {
		return 0, 0, err
	}
	return (best + 4*likely + worst) / 6, (worst - best) / 6, nil
}
