package estimate

import (
	"cmp"
	"math"
	"slices"
)

// newtonSteps is far more than the log-likelihood, which has one summit, takes.
const newtonSteps = 50

// elasticity is the coefficient of the asking price in the proportional hazards model, by the
// partial likelihood with Breslow's handling of ties, times the prior: its summit and the
// curvature there, as a mean and a variance. Sources: D. R. Cox, Journal of the Royal
// Statistical Society B 34 (1972) 187-220; N. E. Breslow, Biometrics 30 (1974) 89-99.
func elasticity(spells []Spell, prior Normal) Normal {
	r := newRisk(spells)
	b := prior.Mean
	at := r.likelihood(b, prior)
	for range newtonSteps {
		step := at.slope / at.curve
		next := r.likelihood(b+step, prior)
		for !(next.value >= at.value) && math.Abs(step) > 1e-9 { // too far: the summit is nearer
			step /= 2
			next = r.likelihood(b+step, prior)
		}
		b, at = b+step, next
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return Normal{b, 1 / at.curve}
}

// risk is the spells in the orders in which, going back from the last day, they come under risk
// and leave it.
type risk struct{ byTo, byFrom []Spell }

func newRisk(spells []Spell) risk {
	r := risk{slices.Clone(spells), slices.Clone(spells)}
	slices.SortFunc(r.byTo, func(a, b Spell) int { return cmp.Compare(b.To, a.To) })
	slices.SortFunc(r.byFrom, func(a, b Spell) int { return cmp.Compare(b.From, a.From) })
	return r
}

// summit is a log-likelihood with its slope and, with the sign turned, its curvature.
type summit struct{ value, slope, curve float64 }

// likelihood goes back from the last day: those offered on a day are who might have been sold
// on it, and each sale counts by its share among them.
func (r risk) likelihood(b float64, prior Normal) summit {
	off := b - prior.Mean
	s := summit{value: -off * off / (2 * prior.Variance), slope: -off / prior.Variance, curve: 1 / prior.Variance}
	var under sums
	gone := 0
	for i := 0; i < len(r.byTo); {
		day, sold, ratios := r.byTo[i].To, 0.0, 0.0
		for ; i < len(r.byTo) && r.byTo[i].To == day; i++ {
			under.add(b, r.byTo[i].LogRatio, 1)
			if r.byTo[i].Sold {
				sold, ratios = sold+1, ratios+r.byTo[i].LogRatio
			}
		}
		for ; gone < len(r.byFrom) && r.byFrom[gone].From >= day; gone++ {
			under.add(b, r.byFrom[gone].LogRatio, -1)
		}
		if sold > 0 {
			mean := under.first / under.zeroth
			s.value += b*ratios - sold*math.Log(under.zeroth)
			s.slope += ratios - sold*mean
			s.curve += sold * max(0, under.second/under.zeroth-mean*mean)
		}
	}
	return s
}

// sums are over those under risk, of e^(b·ratio) and of that times the ratio and its square.
type sums struct{ zeroth, first, second float64 }

func (s *sums) add(b, ratio, sign float64) {
	e := sign * math.Exp(b*ratio)
	s.zeroth, s.first, s.second = s.zeroth+e, s.first+e*ratio, s.second+e*ratio*ratio
}
