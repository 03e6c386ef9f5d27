package bench

import (
	"fmt"
	"math"
	"math/rand/v2"

	"tackfree/pkg/estimate"
)

// made is a made-up shop: what its pieces really bring, how soon they are really sold, how long they really take. All
// figures are invented, of the size that such shops have.
type made struct {
	*rand.Rand
	kinds      []float64 // of each kind of piece, its likely price's logarithm, in cents
	spread     float64   // of prices around it
	hours      []float64 // of each kind, the likely hours' logarithm
	hoursOff   float64   // their spread
	people     []float64 // of each helper, the logarithm of how much longer they take
	rate       float64   // the chance in a day of being sold at the likely price
	elasticity float64
}

func madeUp(r *rand.Rand) *made {
	s := &made{Rand: r, spread: 0.15 + 0.25*r.Float64(), hoursOff: 0.15 + 0.35*r.Float64(),
		rate: math.Ln2 / (10 + 40*r.Float64()), elasticity: -1.5 - 2.5*r.Float64()}
	for range 4 {
		s.people = append(s.people, 0.25*r.NormFloat64())
	}
	level := math.Log(300_00) + 0.3*r.NormFloat64()
	for range 12 {
		s.kinds = append(s.kinds, level+0.5*r.NormFloat64())
		s.hours = append(s.hours, math.Log(5)+0.5*r.NormFloat64())
	}
	return s
}

// price is what a piece of a kind brings, and work how long somebody takes for it.
func (s *made) price(kind int) float64 { return math.Exp(s.kinds[kind] + s.spread*s.NormFloat64()) }

func (s *made) work(kind, who int) float64 {
	return math.Exp(s.hours[kind] + s.people[who] + s.hoursOff*s.NormFloat64())
}

// chance is that of being sold in a day at a price.
func (s *made) chance(likely, asked float64) float64 {
	return -math.Expm1(-s.rate * math.Pow(asked/likely, s.elasticity))
}

// days is how long a piece stands that is asked its likely price.
func (s *made) days() float64 { return s.ExpFloat64() / s.rate }

// learned is what a shop knows from its own past.
type learned struct {
	prices  *estimate.Prices
	selling *estimate.Selling
	highest float64 // times the likely price, beyond which nothing was tried
	hours   []estimate.LogNormal
	kinds   [][]float64 // of each kind, the logarithms of what was paid
}

// learn plays a past and learns from it.
func (s *made) learn(n int) (*learned, error) {
	k, h := &learned{kinds: make([][]float64, len(s.kinds))}, &estimate.History{}
	for kind := range s.kinds {
		if err := h.Define(kindName(kind), estimate.Default{MinutesPerUnit: 300, Exponent: 1}); err != nil {
			return nil, err
		}
	}
	var sales []estimate.PastSale
	var spells []estimate.Spell
	for range n {
		kind := s.IntN(len(s.kinds))
		price := s.price(kind)
		sales = append(sales, estimate.PastSale{Price: price, Traits: traitsOf(kind)})
		spells = append(spells, s.spell())
		k.kinds[kind] = append(k.kinds[kind], math.Log(price))
		who := s.IntN(len(s.people))
		if err := h.Observe(kindName(kind), fmt.Sprint("helper ", who), 1, 60*s.work(kind, who)); err != nil {
			return nil, err
		}
	}
	var err error
	if k.hours, err = s.hoursOf(h); err != nil {
		return nil, err
	}
	if k.prices, err = estimate.FitPrices(sales); err != nil {
		return nil, err
	}
	if k.selling, err = estimate.FitSelling(spells, estimate.UsualSelling(estimate.UsualMedianDays)); err != nil {
		return nil, err
	}
	k.highest = math.Exp(estimate.Reach(spells))
	return k, nil
}

// spell is a listing at one price until it is sold or the year is over.
func (s *made) spell() estimate.Spell {
	off := 0.25 * s.NormFloat64()
	to := s.ExpFloat64() / (s.rate * math.Exp(s.elasticity*off))
	return estimate.Spell{To: math.Max(0.5, math.Min(to, 365)), Sold: to < 365, LogRatio: off}
}

func traitsOf(kind int) (t estimate.Traits) {
	t[estimate.TraitKind] = kindName(kind)
	return t
}

func kindName(kind int) string { return fmt.Sprint("kind ", kind) }

// hoursOf is what is known of the work on each kind.
func (s *made) hoursOf(h *estimate.History) (all []estimate.LogNormal, err error) {
	for kind := range s.kinds {
		f, err := h.Forecast(kindName(kind), "", 1)
		if err != nil {
			return nil, err
		}
		f.Mu -= math.Log(60)
		all = append(all, f)
	}
	return all, nil
}
