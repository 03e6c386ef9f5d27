package estimate

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Normal is what is believed of a number: a mean and a variance.
type Normal struct{ Mean, Variance float64 }

// posterior is the belief after n observations of a mean, each with a variance: the mean
// is drawn from the prior toward the data by weight. n is 0 or more, both variances above
// 0. Source: conjugate normal model with known variance, in any textbook.
func (prior Normal) posterior(mean float64, n int, variance float64) Normal {
	if n == 0 {
		return prior
	}
	of := variance / float64(n)
	weight := prior.Variance / (prior.Variance + of)
	return Normal{prior.Mean + weight*(mean-prior.Mean), weight * of}
}

// Posterior is the belief after n observations (0 or more) with a mean, each with a
// variance (above 0). Fault: OUT_OF_RANGE.
func (prior Normal) Posterior(mean float64, n int, variance float64) (Normal, error) {
	if err := dimension.Above("variance of the prior", prior.Variance, 0, math.MaxFloat64, ""); err != nil {
		return Normal{}, err
	}
	if err := dimension.Above("variance of an observation", variance, 0, math.MaxFloat64, ""); err != nil {
		return Normal{}, err
	}
	for name, v := range map[string]float64{"mean of the prior": prior.Mean, "mean": mean} {
		if err := dimension.Within(name, v, -math.MaxFloat64, math.MaxFloat64, ""); err != nil {
			return Normal{}, err
		}
	}
	if err := dimension.Within("number of observations", float64(n), 0, math.MaxInt32, ""); err != nil {
		return Normal{}, err
	}
	return prior.posterior(mean, n, variance), nil
}

// JamesStein draws several means, each known with the same variance (above 0), toward
// their own average: none further than onto it. It needs four or more. Faults:
// OUT_OF_RANGE, TOO_FEW. Source: Efron and Morris, Journal of the American Statistical
// Association 70 (1975) 311-319.
func JamesStein(means []float64, variance float64) ([]float64, error) {
	if len(means) < 4 {
		return nil, fault.New(fault.Invalid, "TOO_FEW", "%d means are too few to learn from each other; it takes four.", len(means)).At("means")
	}
	if err := dimension.Above("variance", variance, 0, math.MaxFloat64, ""); err != nil {
		return nil, err
	}
	average := 0.0
	for _, m := range means {
		if err := dimension.Within("mean", m, -1e100, 1e100, ""); err != nil {
			return nil, err
		}
		average += m / float64(len(means))
	}
	squares := 0.0
	for _, m := range means {
		squares += (m - average) * (m - average)
	}
	keep := kept(len(means), variance, squares)
	out := make([]float64, len(means))
	for i, m := range means {
		out[i] = average + keep*(m-average)
	}
	return out, nil
}

// kept is the share of their distance from the average that k means keep, when each has a
// variance and their squared distances sum up to squares.
func kept(k int, variance, squares float64) float64 {
	if squares == 0 {
		return 0
	}
	return math.Max(0, 1-float64(k-3)*variance/squares)
}
