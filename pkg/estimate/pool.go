package estimate

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Pool draws means of several groups toward their average over all that was observed: each of a number of observations
// (1 or more) that have one variance (0 or more), the further the fewer they are, and by how much groups differ at all.
// Faults: OUT_OF_RANGE, TOO_FEW where there is no group. How much they differ is the estimate of DerSimonian and Laird,
// Controlled Clinical Trials 7 (1986) 177-188, cited from memory; the drawing is that of Normal.Posterior. Of alike numbers it
// draws as JamesStein does but for its factor, of k groups (k-1)/(k-3) times as far.
func Pool(means []float64, counts []int, variance float64) ([]float64, error) {
	if len(means) == 0 || len(means) != len(counts) {
		return nil, fault.New(fault.Invalid, "TOO_FEW", "There is nothing to draw together.").At("means")
	}
	if err := dimension.Within("variance", variance, 0, 1e100, ""); err != nil {
		return nil, err
	}
	for i, m := range means {
		if err := dimension.Within("mean", m, -1e100, 1e100, ""); err != nil {
			return nil, err
		}
		if err := dimension.Within("number of observations", float64(counts[i]), 1, math.MaxInt32, ""); err != nil {
			return nil, err
		}
	}
	prior := Normal{Mean: averageOf(means, counts)}
	prior.Variance = between(means, counts, prior.Mean, variance)
	out := make([]float64, len(means))
	for i, m := range means {
		switch {
		case variance == 0:
			out[i] = m
		case prior.Variance == 0:
			out[i] = prior.Mean
		default:
			out[i] = prior.posterior(m, counts[i], variance).Mean
		}
	}
	return out, nil
}

// averageOf is the average over all observations.
func averageOf(means []float64, counts []int) float64 {
	sum, all := 0.0, 0.0
	for i, m := range means {
		sum, all = sum+m*float64(counts[i]), all+float64(counts[i])
	}
	return sum / all
}

// between is the variance of what groups really are, 0 where they differ no more than by chance.
func between(means []float64, counts []int, average, variance float64) float64 {
	var squares, all, large float64
	for i, m := range means {
		n := float64(counts[i])
		squares, all, large = squares+n*(m-average)*(m-average), all+n, large+n*n
	}
	if len(means) < 2 {
		return 0
	}
	return math.Max(0, (squares-float64(len(means)-1)*variance)/(all-large/all))
}
