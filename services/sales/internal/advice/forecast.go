package advice

import (
	"math"
	"time"

	"tackfree/pkg/estimate"
	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// few is how many sales of a kind are too few to go by. Common practice.
const few = 10

// longest is how many days are looked ahead: two years.
const longest = 730

// Question is what is asked about: a piece, where it is offered, when that is, and what somebody says
// that it brings.
type Question struct {
	Piece
	Channel  string
	Guess    *Guess    // nil: what was believed when it was seen
	Sighting *Sighting // nil: what the terms say of its kind
	Now      time.Time
}

// SoldBy is the share that is sold by the end of a day; 0 is the first.
type SoldBy struct {
	Day              int
	Share, Low, High float64 // Low and High are 0 where nobody tells
}

// Forecast is what a piece will bring, and how soon.
type Forecast struct {
	Low, Likely, High money.Amount // a tenth bring less than Low, a tenth more than High
	Spread            float64      // standard deviation of the logarithm of the price
	// Days until a tenth, half and nine in ten are sold, when asked for the likely price; 0: not
	// within two years.
	DaysLow, DaysLikely, DaysHigh int
	SoldBy                        []SoldBy
	Elasticity                    float64 // percent more sold a day for one percent less asked
	Basis                         Basis

	median  float64 // minor units
	most    float64 // to ask, of which anybody can say what comes of it; minor units
	selling *estimate.Selling
}

// Forecast is what a piece will bring when it is put up now. Faults: BELIEF_MISSING, OUT_OF_RANGE.
func (m *Model) Forecast(q Question) (Forecast, error) {
	t := m.shop.traits(q.Piece, q.Channel, q.Now)
	said := q.said(m.terms)
	p, err := m.priceOf(t, said)
	if fault.Is(err, "BELIEF_MISSING") {
		return Forecast{}, nothingKnown(q.Kind)
	}
	if err != nil {
		return Forecast{}, err
	}
	selling, err := m.sellingOf(q.Kind)
	if err != nil {
		return Forecast{}, err
	}
	f := Forecast{Spread: p.Sigma, median: p.Median(), most: p.MostToAsk(m.spells[q.Kind]), selling: selling, Basis: m.basis(t, p, said)}
	tenth := math.Exp(tail * p.Sigma)
	f.Low, f.Likely, f.High = m.shop.price(f.median/tenth), m.shop.price(f.median), m.shop.price(f.median*tenth)
	f.DaysLow, f.DaysLikely, f.DaysHigh = daysTo(selling, 0.1), daysTo(selling, 0.5), daysTo(selling, 0.9)
	elasticity, _ := selling.Elasticity()
	f.Elasticity = -elasticity
	for _, day := range shown(int(m.terms.Horizon)) {
		unsold, low, high := selling.Unsold(day, 0)
		f.SoldBy = append(f.SoldBy, SoldBy{day, 1 - unsold, 1 - high, 1 - low})
	}
	return f, nil
}

// tail is how many standard deviations a tenth of a normal distribution are beyond.
const tail = 1.2815515655446004

func nothingKnown(kind string) error {
	return fault.New(fault.Precondition, "BELIEF_MISSING",
		"The shop has sold nothing yet that tells what a %s brings. Say between which two prices such a piece sells, here or in the selling terms.", kind).At("guess")
}

// daysTo is by the end of which day a share is sold, 1 being the first; 0: not within two years.
func daysTo(s *estimate.Selling, share float64) int {
	days := math.Max(1, math.Ceil(s.Days(share, 0)))
	if !(days <= longest) {
		return 0
	}
	return int(days)
}

// shortHorizon is up to how many days each day of a course is told; of a longer one each week is enough to draw it.
const shortHorizon = 56

// shown are the days of a course that are told: of a short horizon all, of a longer one the first, each seventh after it,
// and the last.
func shown(horizon int) (days []int) {
	step := 7
	if horizon <= shortHorizon {
		step = 1
	}
	for day := 0; day < horizon-1; day += step {
		days = append(days, day)
	}
	return append(days, horizon-1)
}
