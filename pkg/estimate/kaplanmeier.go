package estimate

import (
	"cmp"
	"math"
	"slices"

	"tackfree/pkg/dimension"
)

// maxDays is longer than any piece stands.
const maxDays = 36500

// Observed is how long a piece stood: until it was sold, or as long as it was seen unsold.
type Observed struct {
	Days float64 // 0 to 36500
	Sold bool
}

// KMStep is a day on which something was sold.
type KMStep struct {
	Day          float64
	AtRisk, Sold int     // seen unsold until then, and sold then
	Survival     float64 // share that is not sold by then
	StdErr       float64 // of that share; 0 once all are sold
}

// KaplanMeier is the share that is not sold by and by, from pieces of which some were not sold
// yet; one that was last seen unsold on a day of sales counts as at risk on it. Fault:
// OUT_OF_RANGE. Sources: E. L. Kaplan and P. Meier, Journal of the American Statistical
// Association 53 (1958) 457-481; the standard error is M. Greenwood's (1926).
func KaplanMeier(seen []Observed) ([]KMStep, error) {
	for _, o := range seen {
		if err := dimension.Within("days", o.Days, 0, maxDays, "d"); err != nil {
			return nil, err
		}
	}
	all := slices.SortedFunc(slices.Values(seen), func(a, b Observed) int { return cmp.Compare(a.Days, b.Days) })
	var steps []KMStep
	survival, greenwood := 1.0, 0.0
	for i := 0; i < len(all); {
		step := KMStep{Day: all[i].Days, AtRisk: len(all) - i}
		for ; i < len(all) && all[i].Days == step.Day; i++ {
			if all[i].Sold {
				step.Sold++
			}
		}
		if step.Sold == 0 {
			continue
		}
		n, d := float64(step.AtRisk), float64(step.Sold)
		survival *= 1 - d/n
		if survival > 0 {
			greenwood += d / (n * (n - d))
			step.StdErr = survival * math.Sqrt(greenwood)
		}
		step.Survival = survival
		steps = append(steps, step)
	}
	return steps, nil
}
