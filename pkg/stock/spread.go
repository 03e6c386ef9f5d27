package stock

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/estimate"
)

// Spread is an expectation and its standard deviation, of what is not known in advance.
type Spread struct{ Mean, SD float64 }

// z is the standard normal quantile.
func z(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }

// quantile is that of a gamma with this mean and deviation: E. B. Wilson and M. M. Hilferty, The
// Distribution of Chi-Square, PNAS 17 (1931) 684-688.
func quantile(s Spread, p float64) float64 {
	if s.Mean == 0 || s.SD == 0 {
		return s.Mean
	}
	ninth := s.SD * s.SD / (9 * s.Mean * s.Mean)
	return s.Mean * math.Pow(max(0, 1-ninth+z(p)*math.Sqrt(ninth)), 3)
}

// UseOf is the use a day, from what was used on each of some days, quiet ones too.
func UseOf(days []float64) Spread {
	if len(days) == 0 {
		return Spread{}
	}
	var sum, squares float64
	for _, d := range days {
		sum += d
	}
	mean := sum / float64(len(days))
	for _, d := range days {
		squares += (d - mean) * (d - mean)
	}
	return Spread{mean, math.Sqrt(squares / float64(max(1, len(days)-1)))}
}

// OverLead is what is used, at a use a day, in a time that is not certain either: the mean is
// dL, the variance Lσ² + d²σ², with σ of the use and of the time. E. A. Silver, D. F. Pyke and
// D. J. Thomas, Inventory and Production Management in Supply Chains, 4th ed. (2017), section
// 6.10; cited from memory.
func OverLead(use, lead Spread) Spread {
	return Spread{use.Mean * lead.Mean, math.Sqrt(lead.Mean*use.SD*use.SD + use.Mean*use.Mean*lead.SD*lead.SD)}
}

// statedSpread is how far a stated delivery time is off, as a share of it, before any delivery
// was seen. Common practice; a supplier that says five days comes in four to six.
const statedSpread = 0.25

// Learn is how long deliveries take, in days: what the supplier states, drawn towards what
// deliveries took as these become more; with none it is the statement. Fault:
// OUT_OF_RANGE.
func Learn(stated float64, took []float64) (Spread, error) {
	prior := estimate.Normal{Mean: stated, Variance: math.Pow(statedSpread*max(stated, 1), 2)}
	if err := (Spread{stated, 0}).check("the stated time of delivery"); err != nil {
		return Spread{}, err
	}
	if len(took) == 0 {
		return Spread{stated, math.Sqrt(prior.Variance)}, nil
	}
	for _, t := range took {
		if err := dimension.Within("the time that a delivery took", t, 0, 3660, " days"); err != nil {
			return Spread{}, err
		}
	}
	// A few deliveries say little of their own spread, so the statement's counts as one more.
	seen := UseOf(took)
	n := float64(len(took))
	within := (prior.Variance + (n-1)*seen.SD*seen.SD) / n
	post, err := prior.Posterior(seen.Mean, len(took), within)
	if err != nil {
		return Spread{}, err
	}
	// The next delivery is off the mean, and the mean is not certain.
	return Spread{post.Mean, math.Sqrt(post.Variance + within)}, nil
}
