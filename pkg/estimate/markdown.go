package estimate

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Market is where a piece is offered, and on what terms. All money is in minor units. An asking
// price stands for Between days at least, the first one too, and is never raised. Buyers pay
// what is asked: what comes of offers is in the likely price.
type Market struct {
	Likely        float64  // what such a piece likely brings, the Median of its forecast; 0.01 to 1e15
	Selling       *Selling // not nil
	FeeShare      float64  // of the price, which the channel keeps; 0 to 0.95
	HoldingPerDay float64  // for each day begun until it is sold; 0 to 1e15
	Salvage       float64  // what it brings, after fees, if it is not sold by the horizon's end; 0 to 1e15
	Between       int      // days that an asking price stands at least; 1 to 365
	Most          int      // markdowns from now on; 0 to 50
	Horizon       int      // days from today on; 1 to 730
	Lowest        float64  // less is never asked; 0: no such floor; to 1e15
	Highest       float64  // more is not set, but where Lowest is above it; 0: no such bound; to 1e15

	// Of a piece that is listed already; all 0 otherwise.
	ListedDays  int     // since it was put up; 0 to 36500
	DaysAtPrice int     // since the asking price was last set; 0 to 36500
	AskedNow    float64 // 0 to 1e15
}

// Step is an asking price (minor units) from a day on; day 0 is today.
type Step struct {
	Day   int
	Price float64
}

// Way is a way of asking, and what comes of it.
type Way struct {
	Steps    []Step    // by day, the first of day 0
	Expected float64   // after fees, less holding, with the salvage of what is not sold; minor units
	Days     float64   // begun, on average, until it is sold or the horizon ends
	Sold     float64   // share sold before the horizon ends
	SoldBy   []float64 // share sold by the end of each day, from today to the horizon's last
}

// Follow is what comes of asking by some steps, the first of day 0, their days rising, within
// the horizon. It does not hold them to Between, Most, Lowest, Highest or AskedNow. Faults:
// OUT_OF_RANGE, STEPS_OUT_OF_ORDER.
func (m Market) Follow(steps []Step) (Way, error) {
	if err := m.check(); err != nil {
		return Way{}, err
	}
	day := -1
	for i, s := range steps {
		if err := dimension.Within("price", s.Price, minPrice, maxPrice, ""); err != nil {
			return Way{}, err
		}
		if s.Day <= day || s.Day >= m.Horizon || i == 0 && s.Day != 0 {
			return Way{}, outOfOrder()
		}
		day = s.Day
	}
	if len(steps) == 0 {
		return Way{}, outOfOrder()
	}
	return m.follow(steps), nil
}

func outOfOrder() error {
	return fault.New(fault.Invalid, "STEPS_OUT_OF_ORDER", "The first asking price is of day 0, each other of a later day before the horizon's end.").At("steps")
}

// follow goes through the days.
func (m Market) follow(steps []Step) Way {
	w := Way{Steps: steps, SoldBy: make([]float64, 0, m.Horizon)}
	w.Expected, w.Days = m.walk(steps, func(left float64) { w.SoldBy = append(w.SoldBy, 1-left) })
	w.Sold = w.SoldBy[m.Horizon-1]
	return w
}

// walk gives what is expected of some steps, and the days begun; at the end of each day it tells
// the share that is left.
func (m Market) walk(steps []Step, tell func(left float64)) (expected, days float64) {
	left, price, factor := 1.0, 0.0, 0.0
	for day := range m.Horizon {
		if len(steps) > 0 && steps[0].Day == day {
			price, factor, steps = steps[0].Price, m.factor(steps[0].Price), steps[1:]
		}
		chance := m.chance(day, factor)
		days += left
		expected += left * (chance*m.net(price) - m.HoldingPerDay)
		left *= 1 - chance
		tell(left)
	}
	return expected + left*m.Salvage, days
}

func (m Market) factor(price float64) float64 { return m.Selling.factor(math.Log(price / m.Likely)) }

// chance is that of a sale on a day from today on, at a price with a factor.
func (m Market) chance(day int, factor float64) float64 {
	return chance(m.Selling.rate(m.ListedDays+day) * factor)
}

func (m Market) net(price float64) float64 { return price * (1 - m.FeeShare) }

// OnePrice is what comes of asking one price (0.01 to 1e15) from today on. Fault: OUT_OF_RANGE.
func (m Market) OnePrice(price float64) (Way, error) { return m.Follow([]Step{{0, price}}) }

// earliest is the first day on which the asking price may change, or be set first.
func (m Market) earliest() int {
	if m.AskedNow == 0 {
		return 0
	}
	return max(0, m.Between-m.DaysAtPrice)
}

func (m Market) check() error {
	for _, c := range []struct {
		name             string
		value, low, high float64
		unit             string
	}{
		{"likely price", m.Likely, minPrice, maxPrice, ""}, {"fee", m.FeeShare, 0, 0.95, ""}, {"holding per day", m.HoldingPerDay, 0, maxPrice, ""},
		{"salvage", m.Salvage, 0, maxPrice, ""}, {"lowest price", m.Lowest, 0, maxPrice, ""}, {"highest price", m.Highest, 0, maxPrice, ""}, {"asking price", m.AskedNow, 0, maxPrice, ""},
		{"days between markdowns", float64(m.Between), 1, 365, "d"}, {"markdowns", float64(m.Most), 0, 50, ""}, {"horizon", float64(m.Horizon), 1, 730, "d"},
		{"days listed", float64(m.ListedDays), 0, maxDays, "d"}, {"days at this price", float64(m.DaysAtPrice), 0, maxDays, "d"},
	} {
		if err := dimension.Within(c.name, c.value, c.low, c.high, c.unit); err != nil {
			return err
		}
	}
	return nil
}
