package estimate

import "math"

// edges are the days since it was put up between which the chance of a sale in a day is taken
// for the same: it changes fast at first, and slowly later. The last stretch has no end.
var edges = [...]float64{0, 3, 7, 14, 30, 60, 90, 180, 365, math.Inf(1)}

// levelWeight is the weight, in sales, of the median that is believed before there are sales.
// Common practice: it is good to a factor of about 1.8, e^(1/√3).
const levelWeight = 3

// stretch is some days in which the chance of a sale in a day is the same.
type stretch struct {
	from, to float64
	rate     float64 // sales a day of those offered at the likely price
	lean     float64 // 0 to 1: how far the rate is that of the stretch before
	variance float64 // of its logarithm
}

// exposed is what was seen in a stretch.
type exposed struct {
	sales  float64
	days   float64 // offered, each by the factor of its price
	ratios float64 // the same times the log ratio
}

// baseline finds the rates. Each is drawn, with the weight of beliefWeight sales, toward that of
// the stretch before, so that what was never seen goes on like what was; the first is drawn
// toward the level of all, and that toward what is believed. The rate of Poisson events under a
// gamma prior, in any textbook; under proportional hazards, N. E. Breslow, Journal of the Royal
// Statistical Society B 34 (1972) 216-217, cited from memory.
func (s *Selling) baseline(spells []Spell, believed float64) {
	seen := s.exposure(spells)
	var all exposed
	for _, e := range seen {
		all.sales, all.days, all.ratios = all.sales+e.sales, all.days+e.days, all.ratios+e.ratios
	}
	s.sales = int(all.sales)
	weight := levelWeight/believed + all.days
	before := stretch{rate: (levelWeight + all.sales) / weight, variance: 1 / (levelWeight + all.sales)}
	s.centre = all.ratios / weight
	for i, e := range seen {
		before = before.next(e)
		before.from, before.to = edges[i], edges[i+1]
		s.stretches = append(s.stretches, before)
	}
}

// next is the stretch after one, from what was seen in it.
func (s stretch) next(e exposed) stretch {
	prior := beliefWeight / s.rate
	n := stretch{rate: (beliefWeight + e.sales) / (prior + e.days), lean: prior / (prior + e.days)}
	n.variance = 1/(beliefWeight+e.sales) + n.lean*n.lean*s.variance
	return n
}

func (s *Selling) exposure(spells []Spell) []exposed {
	seen := make([]exposed, len(edges)-1)
	for _, sp := range spells {
		factor := s.factor(sp.LogRatio)
		for i := range seen {
			if days := min(sp.To, edges[i+1]) - max(sp.From, edges[i]); days > 0 {
				seen[i].days += days * factor
				seen[i].ratios += days * factor * sp.LogRatio
			}
			if sp.Sold && sp.To > edges[i] && sp.To <= edges[i+1] {
				seen[i].sales++
			}
		}
	}
	return seen
}

// rate is the sales a day of those offered at the likely price, on a day since they were put up.
func (s *Selling) rate(day int) float64 {
	for _, st := range s.stretches {
		if float64(day) < st.to {
			return st.rate
		}
	}
	return 0
}

// cumulative is the sum of the rates until a day, and the variance of its logarithm. What is not
// known of a stretch is carried on to those after it, by as much as they lean on it.
func (s *Selling) cumulative(until float64) (sum, variance float64) {
	shared := 0.0 // covariance of a stretch with all until it
	for _, st := range s.stretches {
		days := min(st.to, until) - st.from
		if days <= 0 {
			break
		}
		part := days * st.rate
		shared = st.lean*shared + part*st.variance
		sum += part
		variance += part * (2*shared - part*st.variance)
	}
	if sum == 0 {
		return 0, 0
	}
	return sum, variance / (sum * sum)
}
