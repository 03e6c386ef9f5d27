package estimate

import (
	"math"

	"tackfree/pkg/dimension"
)

// The prices that are considered: four steps are a tenth off, from twice the likely price down
// to four tenths of it. Common practice: who asks more does not want to sell, and who asks less
// gives it away.
const (
	gridStep = 0.9740037464252967 // ⁴√0.9
	gridHigh = 2.0
	gridLow  = 0.4
)

// grid is the asking prices that may be chosen, falling. Of a piece that is listed the first is
// what is asked now. The lowest and the highest are among them where they are within reach.
func (m Market) grid() []float64 {
	top, bottom := max(m.capped(gridHigh*m.Likely), m.Lowest), max(m.capped(gridLow*m.Likely), m.Lowest)
	if m.AskedNow > 0 {
		top, bottom = m.AskedNow, max(m.capped(gridLow*min(m.Likely, m.AskedNow)), m.Lowest)
	}
	prices := []float64{top}
	if m.tooDear() {
		top = max(m.Highest, m.Lowest)
		prices = append(prices, top)
	}
	for price := top * gridStep; price > bottom*(1+1e-9); price *= gridStep {
		if price < 2*gridHigh*m.Likely {
			prices = append(prices, price)
		}
	}
	if bottom < top {
		prices = append(prices, bottom)
	}
	return prices
}

// capped is a price, but no more than the highest.
func (m Market) capped(price float64) float64 {
	if m.Highest > 0 {
		return min(price, m.Highest)
	}
	return price
}

// tooDear reports whether more is asked now than the highest: then a markdown is made as soon as there may be one.
func (m Market) tooDear() bool { return m.AskedNow > max(m.capped(m.AskedNow), m.Lowest) }

// BestOnePrice is the best way with a price that is never changed; of a piece that is listed,
// with one markdown at most, as soon as there may be one. Fault: OUT_OF_RANGE.
func (m Market) BestOnePrice() (Way, error) {
	if err := m.check(); err != nil {
		return Way{}, err
	}
	var all [][]Step
	for _, price := range m.grid() {
		if steps, may := m.from(price); may {
			all = append(all, steps)
		}
	}
	return m.follow(m.most(all)), nil
}

// most is the one of several with the most expected.
func (m Market) most(all [][]Step) (best []Step) {
	most := math.Inf(-1)
	for _, steps := range all {
		if expected, _ := m.walk(steps, func(float64) {}); expected > most {
			best, most = steps, expected
		}
	}
	return best
}

// from is the steps that ask a price as soon as it may be asked, if it may be.
func (m Market) from(price float64) ([]Step, bool) {
	day := m.earliest()
	fixed := m.Most == 0 || day >= m.Horizon
	switch {
	case m.AskedNow == 0, price == m.AskedNow && (fixed || !m.tooDear()):
		return []Step{{0, price}}, true
	case fixed || price == m.AskedNow:
		return nil, false
	case day == 0:
		return []Step{{0, price}}, true
	default:
		return []Step{{0, m.AskedNow}, {day, price}}, true
	}
}

// BestPercentOff is the best way that takes the same share (0.01 to 0.9) off at each markdown,
// with the same days between them (up to half the horizon), for as many markdowns as there may be
// above the lowest price. Of a piece that is listed the first comes as soon as it may. Fault:
// OUT_OF_RANGE.
func (m Market) BestPercentOff(share float64) (Way, error) {
	if err := m.check(); err != nil {
		return Way{}, err
	}
	if err := dimension.Within("share off", share, 0.01, 0.9, ""); err != nil {
		return Way{}, err
	}
	starts := m.grid()
	if m.AskedNow > 0 {
		starts = starts[:1]
	}
	var all [][]Step
	for _, price := range starts {
		for gap := m.Between; gap == m.Between || gap < m.Horizon/2; gap += max(7, m.Horizon/26) {
			all = append(all, m.stairs(price, 1-share, gap))
		}
	}
	return m.follow(m.most(all)), nil
}

// stairs is the steps down from a price, each to the same share of the one before, a gap of days
// apart.
func (m Market) stairs(price, keep float64, gap int) []Step {
	steps := []Step{{0, price}}
	day := gap
	if m.AskedNow > 0 {
		day = m.earliest()
	}
	for i := 0; i < m.Most && day < m.Horizon && price*keep >= m.Lowest; i, day = i+1, day+gap {
		price *= keep
		if day == 0 {
			steps = nil
		}
		steps = append(steps, Step{day, price})
	}
	return steps
}
