package bench

import (
	"math"

	"tackfree/pkg/buying"
	"tackfree/pkg/estimate"
)

// tally counts what came of advice over all shops.
type tally struct {
	bought, reached               float64
	sold, within                  float64
	forecastOff, ownOff, allOff   float64 // squares
	pieces                        float64
	advised, expected, one, tenth float64
}

func (t tally) into(r *Advice) {
	r.Purchases, r.ReachedTarget = int(t.bought), t.reached/t.bought
	r.WithinForecast = t.within / t.sold
	r.ForecastOff, r.OwnMeanOff, r.AllMeanOff = math.Sqrt(t.forecastOff/t.sold), math.Sqrt(t.ownOff/t.sold), math.Sqrt(t.allOff/t.sold)
	r.Advised, r.Expected, r.OnePrice, r.TenthOff = t.advised/t.pieces, t.expected/t.pieces, t.one/t.pieces, t.tenth/t.pieces
}

// Terms of all shops, in cents: an hour costs and is to earn, a day on the floor.
const (
	adviceLabour, adviceTarget, adviceFloor = 18_00.0, 12_00.0, 40.0
	adviceHorizon                           = 180
)

// buys buys pieces at the most to pay, and looks what is left of each hour when all is done.
func (s *made) buys(k *learned, t *tally) error {
	for n, seen := 0, 0; n < adviceEach && seen < 10*adviceEach; seen++ {
		kind := s.IntN(len(s.kinds))
		f, err := k.prices.Forecast(traitsOf(kind), nil)
		if err != nil {
			return err
		}
		p := buying.Prospect{Price: f.LogNormal, FeeShare: 0.1, Hours: k.hours[kind], FixedHours: 0.5,
			Material: buying.Spread{Mean: 35_00, SD: 10_00}, HoldingPerDay: adviceFloor, LabourPerHour: adviceLabour,
			Days: func(u float64) float64 { return math.Min(adviceHorizon, k.selling.Days(u, 0)) }}
		a, err := buying.Advise(p, buying.Goal{PerHour: adviceTarget, Chance: adviceChance})
		if err != nil {
			return err
		}
		if a.MostToPay <= 0 {
			continue
		}
		n++
		t.bought++
		if s.perHour(kind, p, a.MostToPay) >= adviceTarget {
			t.reached++
		}
	}
	return nil
}

// perHour is what a piece that was bought really leaves of each hour.
func (s *made) perHour(kind int, p buying.Prospect, paid float64) float64 {
	hours := p.FixedHours + s.work(kind, s.IntN(len(s.people)))
	v := math.Log1p(p.Material.SD * p.Material.SD / p.Material.Mean / p.Material.Mean)
	material := p.Material.Mean * math.Exp(math.Sqrt(v)*s.NormFloat64()-v/2)
	days := math.Min(adviceHorizon, s.days())
	return (s.price(kind)*(1-p.FeeShare) - paid - material - hours*p.LabourPerHour - days*p.HoldingPerDay) / hours
}

// prices looks how near forecasts come to what pieces bring.
func (s *made) prices(k *learned, t *tally) error {
	all, n := 0.0, 0.0
	for _, logs := range k.kinds {
		for _, y := range logs {
			all, n = all+y, n+1
		}
	}
	for range 100 {
		kind := s.IntN(len(s.kinds))
		f, err := k.prices.Forecast(traitsOf(kind), nil)
		if err != nil {
			return err
		}
		t.sold++
		if math.Abs(math.Log(s.price(kind))-f.Mu) < tenth*f.Sigma {
			t.within++
		}
		own := all / n
		if logs := k.kinds[kind]; len(logs) > 0 {
			own = mean(logs)
		}
		truth := s.kinds[kind]
		t.forecastOff, t.ownOff, t.allOff = t.forecastOff+square(f.Mu-truth), t.ownOff+square(own-truth), t.allOff+square(all/n-truth)
	}
	return nil
}

// tenth is the ninetieth percentile of the normal distribution.
const tenth = 1.2815515655446004

func mean(all []float64) (m float64) {
	for _, x := range all {
		m += x / float64(len(all))
	}
	return m
}

func square(x float64) float64 { return x * x }

// marksDown offers pieces as is advised and in two fixed ways, with the same luck.
func (s *made) marksDown(k *learned, t *tally) error {
	likely := math.Exp(s.kinds[s.IntN(len(s.kinds))])
	m := estimate.Market{Likely: likely, Selling: k.selling, FeeShare: 0.1, HoldingPerDay: adviceFloor, Salvage: 0.3 * likely,
		Between: 14, Most: 3, Horizon: adviceHorizon, Highest: likely * k.highest}
	best, err := m.Best()
	if err != nil {
		return err
	}
	one, err := m.BestOnePrice()
	if err != nil {
		return err
	}
	off, err := m.BestPercentOff(0.1)
	if err != nil {
		return err
	}
	for range 400 {
		luck := make([]float64, adviceHorizon)
		for i := range luck {
			luck[i] = s.Float64()
		}
		t.pieces++
		t.expected += best.Expected
		t.advised += s.brings(m, best, luck)
		t.one += s.brings(m, one, luck)
		t.tenth += s.brings(m, off, luck)
	}
	return nil
}

// brings is what one piece leaves that is offered in a way.
func (s *made) brings(m estimate.Market, w estimate.Way, luck []float64) float64 {
	price, next := 0.0, 0
	for day, u := range luck {
		for next < len(w.Steps) && w.Steps[next].Day == day {
			price, next = w.Steps[next].Price, next+1
		}
		if u < s.chance(m.Likely, price) {
			return price*(1-m.FeeShare) - float64(day+1)*m.HoldingPerDay
		}
	}
	return m.Salvage - float64(len(luck))*m.HoldingPerDay
}
