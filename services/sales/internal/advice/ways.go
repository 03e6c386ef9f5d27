package advice

import (
	"math"
	"slices"
	"time"

	"tackfree/pkg/estimate"
	"tackfree/pkg/money"
)

// WayKind is how the prices of a way were chosen.
type WayKind int

// The ways.
const (
	Advised  WayKind = iota // the most that can be expected
	OnePrice                // the best price that is never changed
	TenthOff                // the best with a tenth off at each markdown
	AsListed                // what is asked now, unchanged
	Tried                   // what the question tries, unchanged
)

// Step is an asking price from a day on; day 0 is today.
type Step struct {
	Day    int
	Asking money.Amount
}

// Way is a way of asking, with what comes of it.
type Way struct {
	Kind     WayKind
	Steps    []Step
	Expected money.Amount // after the fee, less holding; what is not sold goes for the salvage price
	Days     float64      // on average until it is sold or the horizon ends
	Sold     float64      // share sold before that
	SoldBy   []SoldBy
	Beyond   bool // more is asked than Highest
}

// Running is how a piece is offered now; zero: it is not.
type Running struct {
	Asked    money.Amount
	ListedAt time.Time
	AskedAt  time.Time // since when that is asked

	Markdowns int // since it was listed
}

// Advice is what to ask for a piece.
type Advice struct {
	Forecast      Forecast
	Ways          []Way        // the advised first
	Highest       money.Amount // no more is advised, and what comes of more nobody knows
	HoldingPerDay money.Amount
	HoldingSaidOf string // the size that its floor's cost follows from; empty: it was said of this one, or of none
	Salvage       money.Amount
	FeePercent    float64
	Seen          []Seen
	SeenListings  int // that Seen tells of
	Horizon       int // days from its listing
	DaysListed    int
	DaysAtPrice   int
}

// Advise is what to ask for a piece from today on. trying is a price to try too; 0: none. Faults: as
// Forecast.
func (m *Model) Advise(q Question, now Running, trying money.Amount) (a Advice, err error) {
	if a.Forecast, err = m.Forecast(q); err != nil {
		return a, err
	}
	a.HoldingPerDay, a.FeePercent, a.Horizon = m.terms.Holding(q.Size), m.terms.FeePercent, int(m.terms.Horizon)
	a.HoldingSaidOf, a.Salvage = m.terms.HoldingSaidOf(q.Size), m.Salvage(a.Forecast)
	a.Seen, a.SeenListings = m.seen(q.Kind)
	a.Highest = m.shop.price(a.Forecast.most)
	if now.Asked > 0 {
		a.DaysListed, a.DaysAtPrice = wholeDays(now.ListedAt, q.Now), wholeDays(now.AskedAt, q.Now)
	}
	market := m.market(a, now)
	a.Ways, err = m.ways(market, now, trying)
	return a, err
}

// Salvage is what a piece goes for, after fees, that is not sold by the horizon.
func (m *Model) Salvage(f Forecast) money.Amount {
	return amount(f.median * m.terms.SalvagePercent / 100)
}

// market is where the piece is offered. What is left of the horizon is at least as long as one price
// stands: of a piece that stood longer there is still something to say.
func (m *Model) market(a Advice, now Running) estimate.Market {
	return estimate.Market{
		Likely: a.Forecast.median, Selling: a.Forecast.selling, FeeShare: a.FeePercent / 100,
		HoldingPerDay: float64(a.HoldingPerDay), Salvage: float64(a.Salvage),
		Between: int(m.terms.DaysBetween), Most: max(0, int(m.terms.MostMarkdowns)-now.Markdowns),
		Horizon:    max(a.Horizon-a.DaysListed, min(int(m.terms.DaysBetween), a.Horizon)),
		ListedDays: a.DaysListed, DaysAtPrice: a.DaysAtPrice, AskedNow: float64(now.Asked), Highest: float64(a.Highest),
	}
}

// ways are all that are told, each by prices as a shop asks them.
func (m *Model) ways(market estimate.Market, now Running, trying money.Amount) (out []Way, err error) {
	type chosen struct {
		kind WayKind
		by   func() (estimate.Way, error)
	}
	all := []chosen{{Advised, market.Best}, {OnePrice, market.BestOnePrice},
		{TenthOff, func() (estimate.Way, error) { return market.BestPercentOff(0.1) }}}
	for _, c := range all {
		way, err := c.by()
		if err != nil {
			return nil, err
		}
		if err := add(&out, market, c.kind, m.asked(way.Steps, now)); err != nil {
			return nil, err
		}
	}
	if now.Asked > 0 {
		err = add(&out, market, AsListed, []Step{{0, now.Asked}})
	}
	if err == nil && trying > 0 {
		err = add(&out, market, Tried, []Step{{0, trying}})
	}
	return out, err
}

// asked are steps at prices as a shop asks them; what is asked now stays, and nothing goes above it.
// Of two that come to one price the second is none.
func (m *Model) asked(steps []estimate.Step, now Running) (out []Step) {
	for _, s := range steps {
		price := m.shop.price(s.Price)
		if now.Asked > 0 && (price > now.Asked || amount(s.Price) == now.Asked) {
			price = now.Asked
		}
		if len(out) == 0 || out[len(out)-1].Asking != price {
			out = append(out, Step{s.Day, price})
		}
	}
	return out
}

// add adds what comes of asking by steps.
func add(out *[]Way, market estimate.Market, kind WayKind, steps []Step) error {
	told := make([]estimate.Step, len(steps))
	for n, s := range steps {
		told[n] = estimate.Step{Day: s.Day, Price: float64(s.Asking)}
	}
	w, err := market.Follow(told)
	if err != nil {
		return err
	}
	way := Way{Kind: kind, Steps: steps, Expected: amount(w.Expected), Days: w.Days, Sold: w.Sold, Beyond: slices.ContainsFunc(told, func(s estimate.Step) bool { return s.Price > market.Highest })}
	for _, day := range shown(len(w.SoldBy)) {
		way.SoldBy = append(way.SoldBy, known(market, told, day, w.SoldBy[day]))
	}
	*out = append(*out, way)
	return nil
}

// known is the share that is sold by the end of a day, with how far it is known at the price of that day:
// the doubt is in the rate of sales, which all days before share.
func known(market estimate.Market, steps []estimate.Step, day int, share float64) SoldBy {
	price := steps[0].Price
	for _, s := range steps {
		if s.Day <= day {
			price = s.Price
		}
	}
	by := market.Selling.Doubt(market.ListedDays+day, math.Log(price/market.Likely))
	left := math.Log1p(-share)
	return SoldBy{Day: day, Share: share, Low: -math.Expm1(left / by), High: -math.Expm1(left * by)}
}

// wholeDays are the full days since a time; of one that nobody knows, 0.
func wholeDays(since, now time.Time) int {
	if since.IsZero() {
		return 0
	}
	return max(0, int(daysFrom(since, now)))
}
