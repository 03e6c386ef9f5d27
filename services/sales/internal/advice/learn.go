package advice

import (
	"math"
	"sync"
	"time"

	"tackfree/pkg/estimate"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Model is what was learned from a past. It may be used by several
// goroutines at once.
type Model struct {
	shop     Shop
	terms    InForce
	prices   *estimate.Prices
	taught   []taught
	spells   map[string][]estimate.Spell    // by kind
	stood    map[string][]estimate.Observed // by kind, each listing
	listings int                            // that the spells are of

	mu      sync.Mutex
	selling map[string]*estimate.Selling // by kind, as they were asked for
}

// taught is a sale that teaches a price: what was left of it, and of what traits.
type taught struct {
	Piece
	price    money.Amount
	traits   estimate.Traits
	soldAt   time.Time
	listedAt time.Time // zero where it was not listed
	set      id.ID
}

// Learn learns from a past, of which the model keeps nothing. Fault: OUT_OF_RANGE, of a price that no
// piece has.
func Learn(shop Shop, past *Past, terms Terms) (*Model, error) {
	m := &Model{shop: shop, terms: terms.InForce(), spells: map[string][]estimate.Spell{}, stood: map[string][]estimate.Observed{}, selling: map[string]*estimate.Selling{}}
	m.taught = make([]taught, 0, len(past.sales))
	for _, s := range past.sales {
		of, price := past.pieces[s.Piece], s.Price-s.Refunded
		if of.Stock && !s.Returned && price > 0 {
			m.taught = append(m.taught, taught{of.Piece, price, shop.traits(of.Piece, s.Channel, s.SoldAt), s.SoldAt, past.listedAt(s), s.Set})
		}
	}
	var err error
	if m.prices, err = estimate.FitPrices(lessons(m.taught)); err != nil {
		return nil, err
	}
	return m, m.learnSpells(past)
}

// lessons are the prices to learn from. What is alike of one set is one sale at its middle share.
func lessons(sales []taught) (out []estimate.PastSale) {
	type alike struct {
		set    id.ID
		traits estimate.Traits
	}
	shares := map[alike][]float64{}
	var order []alike
	for _, s := range sales {
		if s.set == id.Nil {
			out = append(out, estimate.PastSale{Price: float64(s.price), Traits: s.traits})
			continue
		}
		k := alike{s.set, s.traits}
		if shares[k] == nil {
			order = append(order, k)
		}
		shares[k] = append(shares[k], math.Log(float64(s.price)))
	}
	for _, k := range order {
		sum := 0.0
		for _, share := range shares[k] {
			sum += share
		}
		out = append(out, estimate.PastSale{Price: math.Exp(sum / float64(len(shares[k]))), Traits: k.traits})
	}
	return out
}

// learnSpells notes how long pieces stood, against what each was likely to bring.
func (m *Model) learnSpells(past *Past) error {
	known, failed := map[estimate.Traits]float64{}, error(nil)
	for _, l := range past.listings {
		of := past.pieces[l[0].Piece]
		if !of.Stock {
			continue
		}
		spells := m.shop.spells(l, of, func(x Stretch) (float64, bool) {
			t := m.shop.traits(of.Piece, x.Channel, x.From)
			price, done := known[t]
			if !done {
				var err error
				if price, err = m.likely(t); err != nil {
					failed = err
				}
				known[t] = price
			}
			return price, price > 0
		})
		if len(spells) > 0 {
			m.spells[of.Kind] = append(m.spells[of.Kind], spells...)
			m.stood[of.Kind] = append(m.stood[of.Kind], observed(spells))
			m.listings++
		}
	}
	return failed
}

// likely is what a piece brought most likely; 0 where nothing is known of such.
func (m *Model) likely(t estimate.Traits) (float64, error) {
	f, err := m.priceOf(t, m.terms.saidOf(t[estimate.TraitKind]))
	if fault.Is(err, "BELIEF_MISSING") {
		return 0, nil
	}
	return f.Median(), err
}

// priceOf is what a piece brings, by what was sold and what somebody said, if anybody did.
func (m *Model) priceOf(t estimate.Traits, said *Said) (estimate.PriceForecast, error) {
	if said == nil {
		return m.prices.Forecast(t, nil)
	}
	belief, err := said.belief()
	if err != nil {
		return estimate.PriceForecast{}, err
	}
	return m.prices.Forecast(t, belief)
}

// What other kinds tell of one's elasticity is believed up to here: where all that was marked down went the
// next day, and nothing else, the figure has no end. Both are well within what a prior may be. The spread needs
// no bound: what is learned is never wider than the usual 1.5 that it began from. Common practice.
const (
	steepest = 12
	flattest = 0.5
)

// kindsDiffer is the spread of elasticities between kinds of pieces. Common practice.
const kindsDiffer = 0.5

// sellingOf is how pieces of a kind sell: what the owner believes of it, or else how others sell here, until its own
// tell better.
func (m *Model) sellingOf(kind string) (*estimate.Selling, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if s := m.selling[kind]; s != nil {
		return s, nil
	}
	others, err := estimate.FitSelling(m.spellsBut(kind), estimate.UsualSelling(estimate.UsualMedianDays))
	if err != nil {
		return nil, err
	}
	mean, sd := others.Elasticity()
	prior := estimate.SellingPrior{MedianDays: min(max(others.Days(0.5, 0), 0.5), 3650), ElasticityMean: min(max(mean, -steepest), -flattest), ElasticitySD: math.Hypot(sd, kindsDiffer)}
	if b, said := m.terms.of(kind); said && b.DaysLikely > 0 {
		prior.MedianDays = float64(b.DaysLikely)
	}
	s, err := estimate.FitSelling(m.spells[kind], prior)
	if err == nil {
		m.selling[kind] = s
	}
	return s, err
}

// spellsBut are those of all other kinds.
func (m *Model) spellsBut(kind string) (out []estimate.Spell) {
	for k, spells := range m.spells {
		if k != kind {
			out = append(out, spells...)
		}
	}
	return out
}
