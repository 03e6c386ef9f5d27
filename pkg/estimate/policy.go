package estimate

import "math"

// Best is the way with the most expected. Its prices are in steps of about 2.6 %, from twice the
// likely price (or the highest, or what is asked now) down to 0.4 of it; a caller that rounds them may ask
// Follow what comes of that. Fault: OUT_OF_RANGE.
//
// It goes back from the horizon's end: what a piece that is still there is worth on a day, by
// its price and the markdowns left, is the better of leaving the price for a day and of setting
// a lower one, which then stands for Between days. R. Bellman, Dynamic Programming (1957);
// markdowns after G. Gallego and G. van Ryzin, Management Science 40 (1994) 999-1020; both cited
// from memory.
func (m Market) Best() (Way, error) {
	if err := m.check(); err != nil {
		return Way{}, err
	}
	p := newPolicy(m)
	for day := m.Horizon - 1; day >= 0; day-- {
		p.decide(day)
	}
	return m.follow(p.steps()), nil
}

// policy is what is best in each state: the day, the markdowns left and the price, of a piece
// whose price may change.
type policy struct {
	Market
	prices []float64
	chance [][]float64 // of a sale, by day and price
	worth  [][]float64 // by day up to the horizon, then by state
	lower  [][]int     // the same: the price to change to; stay where the price is left
}

const stay = -1

func newPolicy(m Market) *policy {
	p := &policy{Market: m, prices: m.grid(), worth: make([][]float64, m.Horizon+1), lower: make([][]int, m.Horizon)}
	p.chance = make([][]float64, m.Horizon)
	for day := range p.chance {
		p.chance[day] = make([]float64, len(p.prices))
		for i, price := range p.prices {
			p.chance[day][i] = m.chance(day, m.factor(price))
		}
	}
	end := make([]float64, (m.Most+1)*len(p.prices))
	for i := range end {
		end[i] = m.Salvage
	}
	p.worth[m.Horizon] = end
	return p
}

func (p *policy) state(markdowns, price int) int { return markdowns*len(p.prices) + price }

// decide finds what is best on a day, when all later days are decided.
func (p *policy) decide(day int) {
	p.worth[day], p.lower[day] = make([]float64, len(p.worth[p.Horizon])), make([]int, len(p.worth[p.Horizon]))
	next := p.worth[day+1]
	spans := p.spans(day)
	for markdowns := range p.Most + 1 {
		best, to := math.Inf(-1), stay // of lower prices
		for i := len(p.prices) - 1; i >= 0; i-- {
			at := p.state(markdowns, i)
			chance := p.chance[day][i]
			worth := chance*p.net(p.prices[i]) - p.HoldingPerDay + (1-chance)*next[at]
			p.worth[day][at], p.lower[day][at] = worth, stay
			if best > worth || to != stay && p.tooDear() && i == 0 {
				p.worth[day][at], p.lower[day][at] = best, to
			}
			if markdowns == 0 {
				continue
			}
			if set := p.set(day, spans[i], markdowns-1, i); set > best {
				best, to = set, i
			}
		}
	}
}

// span is some days at one price: what they bring, and the share that is left after them.
type span struct{ gain, left float64 }

// spans is, for each price, the days from one on for which it must stand.
func (p *policy) spans(day int) []span {
	all := make([]span, len(p.prices))
	for i := range all {
		all[i] = p.over(day, min(day+p.Between, p.Horizon), i)
	}
	return all
}

func (p *policy) over(from, to, price int) span {
	s := span{left: 1}
	for day := from; day < to; day++ {
		chance := p.chance[day][price]
		s.gain += s.left * (chance*p.net(p.prices[price]) - p.HoldingPerDay)
		s.left *= 1 - chance
	}
	return s
}

// set is what a piece is worth whose price is set on a day, with so many markdowns left then.
func (p *policy) set(day int, s span, markdowns, price int) float64 {
	return s.gain + s.left*p.worth[min(day+p.Between, p.Horizon)][p.state(markdowns, price)]
}

// steps goes the best way from today on.
func (p *policy) steps() []Step {
	price, day := p.first()
	steps := []Step{{0, p.prices[price]}}
	markdowns := p.Most
	for day < p.Horizon {
		to := p.lower[day][p.state(markdowns, price)]
		if to == stay {
			day++
			continue
		}
		price, markdowns = to, markdowns-1
		if day == 0 {
			steps = nil
		}
		steps = append(steps, Step{day, p.prices[price]})
		day += p.Between
	}
	return steps
}

// first is the price that is asked first, and the day on which it may change.
func (p *policy) first() (price, day int) {
	if p.AskedNow > 0 {
		return 0, p.earliest()
	}
	best := math.Inf(-1)
	for i, s := range p.spans(0) {
		if worth := p.set(0, s, p.Most, i); worth > best {
			best, price = worth, i
		}
	}
	return price, p.Between
}
