package estimate

import (
	"math"

	"tackfree/pkg/dimension"
)

// Spell is a stretch of days in which a piece was offered at one asking price. A piece that was
// marked down has several, one after the other; the last ends when it was sold or withdrawn, or
// was last seen unsold.
type Spell struct {
	From, To float64 // days since it was put up, From 0 or more, To above it, to 36500; a sale on the first day is at 1 or sooner
	Sold     bool    // at To
	LogRatio float64 // ln(asked ÷ likely price); −5 to 5, and beyond ±2 it counts as 2
}

// SellingPrior is what is believed of selling before there are sales.
type SellingPrior struct {
	MedianDays     float64 // by when half are sold when the likely price is asked; 0.5 to 3650
	ElasticityMean float64 // of the chance of a sale in a day: percent for each percent asked more; −20 to 20
	ElasticitySD   float64 // above 0, to 100
}

// UsualMedianDays is by when half are sold where nobody says otherwise. Common practice.
const UsualMedianDays = 30

// UsualSelling is what is believed of selling with that median: an elasticity of −3, give or
// take 1.5. Common practice; goods of all kinds have −2.6 on average in T. Bijmolt, H. van Heerde and
// R. Pieters, Journal of Marketing Research 42 (2005) 141-156, cited from memory.
func UsualSelling(medianDays float64) SellingPrior {
	return SellingPrior{MedianDays: medianDays, ElasticityMean: -3, ElasticitySD: 1.5}
}

func (p SellingPrior) check() error {
	if err := dimension.Within("median days", p.MedianDays, 0.5, 3650, "d"); err != nil {
		return err
	}
	if err := dimension.Within("elasticity", p.ElasticityMean, -20, 20, ""); err != nil {
		return err
	}
	return dimension.Above("spread of the elasticity", p.ElasticitySD, 0, 100, "")
}

// farRatio is the ln(asked ÷ likely price) beyond which nothing is told any more: seven times
// the price, or a seventh.
const (
	farRatio = 2
	maxRatio = 5
)

// bounded is a log ratio no further out than farRatio.
func bounded(logRatio float64) float64 { return max(-farRatio, min(farRatio, logRatio)) }

func (s Spell) check() error {
	if err := dimension.Within("from", s.From, 0, maxDays, "d"); err != nil {
		return err
	}
	if err := dimension.Above("to", s.To, s.From, maxDays, "d"); err != nil {
		return err
	}
	return dimension.Within("log ratio", s.LogRatio, -maxRatio, maxRatio, "")
}

// Selling is how long pieces stand until they are sold, by the price that is asked: the chance
// in a day is that of the likely price, which changes with the days since a piece was put up,
// times (asked ÷ likely price) to the power of the elasticity. Buyers pay what is asked; what
// comes of offers is in the likely price. It may be used by several goroutines at once.
type Selling struct {
	elasticity Normal
	centre     float64 // log ratio at which the baseline is known best
	stretches  []stretch
	sales      int
}

// FitSelling learns from spells, in any order; there may be none, and then the prior stands.
// Fault: OUT_OF_RANGE.
func FitSelling(spells []Spell, prior SellingPrior) (*Selling, error) {
	if err := prior.check(); err != nil {
		return nil, err
	}
	usable := make([]Spell, len(spells))
	for i, s := range spells {
		if err := s.check(); err != nil {
			return nil, err
		}
		s.LogRatio = bounded(s.LogRatio)
		usable[i] = s
	}
	s := &Selling{elasticity: elasticity(usable, Normal{prior.ElasticityMean, prior.ElasticitySD * prior.ElasticitySD})}
	s.baseline(usable, math.Ln2/prior.MedianDays)
	return s, nil
}

// Sales is the number of sales that were learned from.
func (s *Selling) Sales() int { return s.sales }

// Elasticity is by how many percent the chance of a sale in a day changes with one percent more
// asked, which is usually below 0, and the standard deviation of what is known of it.
func (s *Selling) Elasticity() (mean, sd float64) {
	return s.elasticity.Mean, math.Sqrt(s.elasticity.Variance)
}

// factor is what a price does to the chance of a sale in a day.
func (s *Selling) factor(logRatio float64) float64 {
	return math.Exp(s.elasticity.Mean * bounded(logRatio))
}

// DayChance is the chance of being sold on a day since it was put up (0 is the first), if it was
// not sold before; logRatio is ln(asked ÷ likely price), and beyond ±2 counts as 2.
func (s *Selling) DayChance(day int, logRatio float64) float64 {
	return chance(s.rate(day) * s.factor(logRatio))
}

// chance is that of one sale at least at so many a day.
func chance(rate float64) float64 { return -math.Expm1(-rate) }

// Unsold is the share that is not sold by the end of a day (0 is the first), when the same is
// asked all the time; nine times in ten, by how much is known, it is between low and high.
func (s *Selling) Unsold(day int, logRatio float64) (share, low, high float64) {
	hazard, _ := s.cumulative(float64(day + 1))
	hazard *= s.factor(logRatio)
	by := s.Doubt(day, logRatio)
	return math.Exp(-hazard), math.Exp(-hazard * by), math.Exp(-hazard / by)
}

// Doubt is by how many times the rate of sales up to the end of a day may be off, up or down, nine
// times in ten, by how much is known: 1 or more.
func (s *Selling) Doubt(day int, logRatio float64) float64 {
	_, variance := s.cumulative(float64(day + 1))
	off := bounded(logRatio) - s.centre
	return math.Exp(z(0.95) * math.Sqrt(variance+off*off*s.elasticity.Variance))
}

// Days is how many days it takes until a share (0 or more, below 1) is sold, when the same is
// asked all the time; 36500 at most.
func (s *Selling) Days(share, logRatio float64) float64 {
	left := -math.Log1p(-share) / s.factor(logRatio)
	for _, st := range s.stretches {
		if all := st.rate * (st.to - st.from); all < left {
			left -= all
			continue
		}
		return min(st.from+left/st.rate, maxDays)
	}
	return maxDays
}
