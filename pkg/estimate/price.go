package estimate

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Trait is what of a piece may tell what it brings.
type Trait int

// The traits.
const (
	TraitKind      Trait = iota // dresser, table, chair …
	TraitSize                   // small, medium, large
	TraitCondition              // as found
	TraitLook                   // paint, stain, clear …
	TraitChannel                // where it is sold
	TraitSeason                 // when
	NumTraits
)

// Traits are the words for the traits of a piece; "" is not known, and then says nothing.
type Traits [NumTraits]string

// PastSale is what a piece brought.
type PastSale struct {
	Price  float64 // minor units without tax; 0.01 to 1e15
	Traits Traits
}

// Belief is what somebody says that this very piece will bring: the logarithm of its price in
// minor units is normal with mean Mu (−5 to 35) and standard deviation Sigma (above 0, to 3).
type Belief struct{ Mu, Sigma float64 }

// The prices that are taken, in minor units, and their logarithms.
const (
	minPrice, maxPrice     = 0.01, 1e15
	minBelieved, maxBelief = -5, 35
)

// BeliefBetween is the belief that a price is eight times in ten between low and high, in minor
// units (0.01 to 1e15, low below high). Fault: OUT_OF_RANGE.
func BeliefBetween(low, high float64) (Belief, error) {
	if err := dimension.Within("low", low, minPrice, maxPrice, ""); err != nil {
		return Belief{}, err
	}
	if err := dimension.Above("high", high, low, maxPrice, ""); err != nil {
		return Belief{}, err
	}
	b := Belief{Mu: (math.Log(low) + math.Log(high)) / 2, Sigma: math.Log(high/low) / (2 * z(0.9))}
	return b, b.check()
}

func (b Belief) check() error {
	if err := dimension.Within("belief", b.Mu, minBelieved, maxBelief, ""); err != nil {
		return err
	}
	return dimension.Above("spread of the belief", b.Sigma, 0, maxSigma, "")
}

// PriceForecast is what a piece will bring: a log-normal price in minor units, whose Median is
// the likely price, and what it goes by.
type PriceForecast struct {
	LogNormal
	Believed float64  // 0 to 1: how far it is the belief rather than the sales
	Effects  []Effect // of each trait that is known of the piece, in the order of the traits
	OfKind   int      // sales of its kind
	Sales    int      // all sales
}

// Effect is how a trait of a piece moves its price, against what the shop's sales have on average
// of it: times eᵐ, with m of this mean and variance.
type Effect struct {
	Trait          Trait
	Word           string
	Mean, Variance float64
	Sales          int // with this word; with none the mean is 0
}

// Forecast is what a piece of these traits will bring; belief is nil where nobody says. The two
// are weighed by how well each knows the level of such a piece: with no sales the belief stands
// as it was said, with many of its traits it hardly counts; traits that are not known leave it
// room, for who believes has seen the piece. Faults: OUT_OF_RANGE, BELIEF_MISSING where there are
// neither sales nor a belief.
func (p *Prices) Forecast(t Traits, belief *Belief) (PriceForecast, error) {
	if belief == nil && p.sales == 0 {
		return PriceForecast{}, fault.New(fault.Precondition, "BELIEF_MISSING", "The shop has sold nothing yet; say between which prices such a piece is sold.").At("belief")
	}
	f := PriceForecast{Effects: p.effects(t), Sales: p.sales}
	if at, known := p.at[TraitKind][t[TraitKind]]; known {
		f.OfKind = p.kinds.counts[at]
	}
	level, chance := p.level(t), p.chance
	if belief != nil {
		if err := belief.check(); err != nil {
			return PriceForecast{}, err
		}
		level, f.Believed = belief.with(level, p.sales)
	}
	f.LogNormal = LogNormal{Mu: level.Mean, Sigma: math.Min(math.Sqrt(level.Variance+(1-f.Believed)*chance), maxSigma)}
	return f, nil
}

// with is the belief after what sales say of the level, and its weight. What was said is of a
// price, and so has its chance within it; by as much as it counts, no other is added.
func (b Belief) with(level Normal, sales int) (Normal, float64) {
	said := Normal{b.Mu, b.Sigma * b.Sigma}
	if sales == 0 {
		return said, 1
	}
	return said.posterior(level.Mean, 1, level.Variance), level.Variance / (level.Variance + said.Variance)
}

// level is where the prices of pieces of these traits are centred, and what is not known of it.
// A trait that is not known is any of the shop's words for it, as often as they are sold; a word
// that was never sold may be anywhere among its like.
func (p *Prices) level(t Traits) Normal {
	row := newPair(len(p.kinds.trait), len(p.rest.trait))
	row.rest[0] = 1
	free := 0.0
	for trait, word := range t {
		at, known := p.at[trait][word]
		switch {
		case known:
			row.of(Trait(trait))[at] = 1
		case word == "":
			p.average(Trait(trait), row, 1)
			free += p.between[trait] * p.variety[trait]
		case len(p.at[trait]) > 0:
			free += p.between[trait]
		}
	}
	level := p.combine(row)
	level.Variance += free
	return level
}

// combine is the sum of the effects, each as often as the row says.
func (p *Prices) combine(row pair) Normal { return Normal{row.dot(p.mean), p.cov.quadratic(row)} }

// average adds to a row the words of a trait, each times its share of the sales that note it.
func (p *Prices) average(trait Trait, row pair, times float64) {
	side := p.side(trait)
	for at, share := range side.shares {
		if side.trait[at] == trait {
			row.of(trait)[at] += times * share
		}
	}
}

// effects are against what the shop sells on average.
func (p *Prices) effects(t Traits) []Effect {
	var all []Effect
	for trait, word := range t {
		if word == "" {
			continue
		}
		e := Effect{Trait: Trait(trait), Word: word, Variance: p.between[trait]}
		if at, known := p.at[trait][word]; known {
			row := newPair(len(p.kinds.trait), len(p.rest.trait))
			p.average(e.Trait, row, -1)
			row.of(e.Trait)[at]++
			n := p.combine(row)
			e.Mean, e.Variance, e.Sales = n.Mean, n.Variance, p.side(e.Trait).counts[at]
		}
		all = append(all, e)
	}
	return all
}
