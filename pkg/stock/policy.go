package stock

import (
	"math"

	"tackfree/pkg/money"
)

// Policy is how a shop buys.
type Policy struct {
	Service   float64      // share of the deliveries before which nothing runs out, such as 0.95
	Review    float64      // days between looks at what to order, above zero
	OrderCost money.Amount // of one order
	Holding   float64      // of stock for a year, as a share of what it is worth, above zero
}

// Advice says whether to order now, and if not by when.
type Advice struct {
	Now    bool
	By     float64 // the last day from now on which an order still comes in time; below zero: too late for it. Infinite: nothing runs short
	Amount float64 // what to buy when Now is set
	Short  float64 // the day on which it would come to less than is safe; infinite: never as far as is planned
	Safety float64 // what is held for use that nobody planned, over the time of a delivery
}

// Look tells whether an order has to go out. One has to when, before what is ordered at the
// next look could be there, there would be less than is safe: what is planned is taken out on
// its day, use beside it at its mean with a margin for the service level that grows with the
// time. It covers the time up to the next delivery as well, and of use beside plans as long as
// pays by EOQ. price is what one unit costs, in minor units. Fault: OUT_OF_RANGE.
func (p Policy) Look(s State, price float64) (Advice, error) {
	if err := p.check(s, price); err != nil {
		return Advice{}, err
	}
	lead := s.Lead.Mean + z(p.Service)*s.Lead.SD
	a := Advice{By: math.Inf(1), Short: math.Inf(1), Safety: p.margin(s, lead, lead)}
	cycle := p.cycle(s, price)
	for _, day := range s.turns(max(lead+p.Review+cycle, s.last())) {
		if s.at(day) < p.margin(s, day, lead)-trace {
			a.Short, a.By = day, day-lead
			break
		}
	}
	if a.Now = a.By < p.Review; a.Now {
		a.Amount = p.lacks(s, lead, lead+p.Review+cycle)
	}
	return a, nil
}

// margin is held for what may be used in so many days beside what is expected: small use comes
// in few larger takings, so it is gamma and not normal, which would hold too little for it. T. A.
// Burgin, The Gamma Distribution and Inventory Control, Operational Research Quarterly 26 (1975);
// cited from memory. The days of the delivery itself are not certain either.
func (p Policy) margin(s State, days, lead float64) float64 {
	over := OverLead(s.Use, Spread{min(days, lead), s.Lead.SD})
	return quantile(over, p.Service) - over.Mean
}

// lacks is the most that is missing of what is safe, up to a day.
func (p Policy) lacks(s State, lead, until float64) (most float64) {
	for _, day := range s.turns(until) {
		most = max(most, p.margin(s, day, lead)-s.at(day))
	}
	return most
}

// longest is how far ahead an order covers use at most. Common practice: what is bought for
// more than three months is stale or of the wrong colour by then.
const longest = 90

// cycle is for how many days an order covers what is used beside the plan, by EOQ. What is
// planned counts in it by its own days.
func (p Policy) cycle(s State, price float64) float64 {
	if s.Use.Mean == 0 || price == 0 {
		return 0
	}
	const year = 365.0
	q, err := EOQ(s.Use.Mean*year, float64(p.OrderCost), p.Holding*price)
	if err != nil {
		return 0
	}
	return min(q/s.Use.Mean, longest)
}

// last is the day of the last need.
func (s State) last() (day float64) {
	for _, n := range s.Needs {
		day = max(day, n.Day)
	}
	return day
}
