package estimate_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/estimate"
	"tackfree/pkg/fault"
)

// steady is selling with the same chance each day: half are sold in 30 days at the likely price.
func steady(t tester, elasticity float64) *estimate.Selling {
	t.Helper()
	return fitSelling(t, nil, estimate.SellingPrior{MedianDays: 30, ElasticityMean: elasticity, ElasticitySD: 1})
}

const perDay = math.Ln2 / 30

func usualMarket(t tester) estimate.Market {
	return estimate.Market{Likely: 30000, Selling: steady(t, -3), FeeShare: 0.1, HoldingPerDay: 60, Salvage: 9000, Between: 14, Most: 3, Horizon: 180}
}

func way(t tester, w estimate.Way, err error) estimate.Way {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func best(t tester, m estimate.Market) estimate.Way {
	t.Helper()
	w, err := m.Best()
	return way(t, w, err)
}

func bestOnePrice(t tester, m estimate.Market) estimate.Way {
	t.Helper()
	w, err := m.BestOnePrice()
	return way(t, w, err)
}

func bestTenthOff(t tester, m estimate.Market) estimate.Way {
	t.Helper()
	w, err := m.BestPercentOff(0.1)
	return way(t, w, err)
}

// By hand: at a price p that is L times r, the rate of sales is λ r⁻ᵉ, and what comes of it
// without end is (1−f)p − c rᵉ÷λ. Its slope is 0 where r = ((1−f)Lλ ÷ ce)^(1/(e−1)). A day has
// its cost as it begins, half a day's more than in continuous time. With the same chance each
// day there is nothing to gain from a markdown.
func TestMarket_HoldingAgainstPrice(t *testing.T) {
	m := estimate.Market{Likely: 30000, Selling: steady(t, -3), FeeShare: 0.1, HoldingPerDay: 150, Between: 14, Most: 3, Horizon: 730}
	r := math.Sqrt(0.9 * 30000 * perDay / (150 * 3))
	want := 0.9*30000*r - 150*r*r*r/perDay - 75
	one := bestOnePrice(t, m)
	near(t, "best price over the likely", one.Steps[0].Price/30000, r, 0.014*r)
	near(t, "expected", one.Expected, want, 0.002*want)
	near(t, "days", one.Days, r*r*r/perDay, 1.5)
	if w := best(t, m); w.Expected < one.Expected || w.Expected > 1.0005*one.Expected || w.Steps[0].Price != one.Steps[0].Price {
		t.Errorf("with markdowns %v from %v, with one price %v from %v", w.Expected, w.Steps, one.Expected, one.Steps)
	}
}

// By hand: without cost of holding, one price for H days brings p(1 − e⁻ˣ) with x = λHr⁻ᵉ, which
// is most where eˣ = 1 + ex; for e = 3 that is x = 1.90380.
func TestMarket_OnePriceAgainstTheHorizon(t *testing.T) {
	m := estimate.Market{Likely: 30000, Selling: steady(t, -3), Between: 14, Horizon: 120}
	const x = 1.903813
	r := math.Cbrt(perDay * 120 / x)
	one := bestOnePrice(t, m)
	near(t, "best price over the likely", one.Steps[0].Price/30000, r, 0.014*r)
	near(t, "expected", one.Expected, 30000*r*(1-math.Exp(-x)), 20)
	near(t, "sold", one.Sold, 1-math.Exp(-x), 0.02)
	if w := best(t, m); w.Expected != one.Expected || len(w.Steps) != 1 {
		t.Errorf("with no markdown allowed %+v, want the best price %+v", w.Steps, one.Steps)
	}
}

// By hand, from V' = max (p − V) λ (p÷L)⁻ᵉ: a price that may fall each day is L(λτe÷(e−1))^(1/e)
// with τ days left, and what is to be expected 1 − 1÷e of it. R. P. McAfee and V. te Velde,
// Dynamic Pricing with Constant Demand Elasticity, Production and Operations Management 17
// (2008) 432-438, have the same for one unit; cited from memory.
func TestMarket_PriceThatFallsEachDay(t *testing.T) {
	m := estimate.Market{Likely: 30000, Selling: steady(t, -3), Between: 1, Most: 50, Horizon: 100}
	price := func(left float64) float64 { return 30000 * math.Cbrt(perDay*left*1.5) }
	w := best(t, m)
	near(t, "expected", w.Expected, price(100)*2/3, 0.004*price(100))
	for _, s := range w.Steps {
		if s.Day <= 80 {
			near(t, fmt.Sprintf("price with %d days left", 100-s.Day), s.Price, price(100-float64(s.Day)), 0.04*s.Price)
		}
	}
	if len(w.Steps) < 15 {
		t.Errorf("it falls %d times only", len(w.Steps)-1)
	}
}

// Of all ways that there are on the grid, tried one by one, none is better.
func TestMarket_BestOfAll(t *testing.T) {
	selling := fitSelling(t, market{rand.New(rand.NewPCG(8, 1)), fading, -2.5}.listings(60), estimate.UsualSelling(30))
	m := estimate.Market{Likely: 1000, Selling: selling, FeeShare: 0.1, HoldingPerDay: 4, Salvage: 500, Between: 3, Most: 2, Horizon: 12, Lowest: 600, ListedDays: 10}
	listed, held, tooDear := m, m, m
	listed.AskedNow, listed.DaysAtPrice = 1200, 2
	held.Highest = 950
	tooDear.AskedNow, tooDear.DaysAtPrice, tooDear.Highest = 1500, 2, 950
	for name, m := range map[string]estimate.Market{"New": m, "Listed": listed, "Held": held, "TooDear": tooDear} {
		t.Run(name, func(t *testing.T) {
			most := math.Inf(-1)
			var all func(steps []estimate.Step, earliest int)
			all = func(steps []estimate.Step, earliest int) {
				w, err := m.Follow(steps)
				most = max(most, way(t, w, err).Expected)
				if len(steps) > m.Most {
					return
				}
				top := steps[len(steps)-1].Price * math.Pow(0.9, 0.25)
				if m.Highest > 0 {
					top = min(top, m.Highest)
				}
				for day := earliest; day < m.Horizon; day++ {
					for price := top; price > 599; price *= math.Pow(0.9, 0.25) {
						all(append(steps[:len(steps):len(steps)], estimate.Step{Day: day, Price: price}), day+m.Between)
					}
				}
			}
			if m.AskedNow > 0 {
				all([]estimate.Step{{Price: m.AskedNow}}, 1)
			} else {
				top := 2000.0
				if m.Highest > 0 {
					top = m.Highest
				}
				for price := top; price > 599; price *= math.Pow(0.9, 0.25) {
					all([]estimate.Step{{Price: price}}, m.Between)
				}
			}
			w := best(t, m)
			if w.Expected < most-1e-6 || w.Expected > most+0.5 {
				t.Errorf("Best is %v with %v, of all ways %v", w.Expected, w.Steps, most)
			}
		})
	}
}

// profit is what comes of one piece that is offered in a way, drawn day by day.
func profit(m estimate.Market, truth func(day int, price float64) float64, w estimate.Way, random *rand.Rand) float64 {
	price, cost := 0.0, 0.0
	for day := range m.Horizon {
		for _, s := range w.Steps {
			if s.Day == day {
				price = s.Price
			}
		}
		cost += m.HoldingPerDay
		if random.Float64() < truth(day, price) {
			return price*(1-m.FeeShare) - cost
		}
	}
	return m.Salvage - cost
}

// In made-up markets whose truth the shop learned from 300 listings, the advice earns more than
// the best price that is never changed, and than the best tenth off each time; and what it
// expects is what comes.
func TestMarket_BeatsFixedWays(t *testing.T) {
	const pieces = 1000
	var advised, expected, fixed, tenth, squares float64
	n := 0.0
	for seed := range uint64(24) {
		random := rand.New(rand.NewPCG(seed, 3))
		rate, elasticity := math.Ln2/(10+50*random.Float64()), -1.5-2.5*random.Float64()
		truth := market{random, func(day float64) float64 { return rate * (0.7 + math.Exp(-day/10)) }, elasticity}
		m := estimate.Market{
			Likely: 30000, FeeShare: 0.1, Salvage: 9000, Between: 14, Most: 3, Horizon: 180,
		}
		seen := truth.listings(300)
		m.Selling, m.Highest, m.HoldingPerDay = fitSelling(t, seen, estimate.UsualSelling(30)), m.Likely*math.Exp(estimate.Reach(seen)), 20+100*random.Float64()
		chance := func(day int, price float64) float64 {
			return -math.Expm1(-truth.rate(float64(day)) * math.Pow(price/m.Likely, elasticity))
		}
		dp, one, off := best(t, m), bestOnePrice(t, m), bestTenthOff(t, m)
		for i := range uint64(pieces) {
			same := func() *rand.Rand { return rand.New(rand.NewPCG(seed, i)) } // the same luck for all
			got := profit(m, chance, dp, same())
			advised, squares = advised+got, squares+got*got
			expected += dp.Expected
			fixed += profit(m, chance, one, same())
			tenth += profit(m, chance, off, same())
			n++
		}
	}
	t.Logf("profit a piece: advised %.0f (expected %.0f), one price %.0f, a tenth off %.0f", advised/n, expected/n, fixed/n, tenth/n)
	if !(advised > 1.005*fixed && advised > 1.001*tenth) {
		t.Errorf("profit a piece: advised %v, one price %v, a tenth off %v", advised/n, fixed/n, tenth/n)
	}
	near(t, "expected profit over what came", expected/advised, 1, 0.03)
}

// Whatever the market, the advice keeps to its terms and is not worse than the fixed ways; and
// Follow of its steps is the same again.
func TestMarket_KeepsToItsTerms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := usualMarket(t)
		m.Selling = steady(t, rapid.Float64Range(-6, -0.5).Draw(t, "elasticity"))
		m.HoldingPerDay = rapid.Float64Range(0, 500).Draw(t, "holding")
		m.Between = rapid.IntRange(1, 60).Draw(t, "between")
		m.Most = rapid.IntRange(0, 6).Draw(t, "most")
		m.Horizon = rapid.IntRange(1, 250).Draw(t, "horizon")
		m.Lowest = rapid.Float64Range(0, 80000).Draw(t, "lowest")
		if rapid.Bool().Draw(t, "held") {
			m.Highest = rapid.Float64Range(1, 90000).Draw(t, "highest")
		}
		earliest := m.Between
		if rapid.Bool().Draw(t, "listed") {
			m.AskedNow = rapid.Float64Range(5000, 200000).Draw(t, "asked")
			m.ListedDays = rapid.IntRange(0, 400).Draw(t, "listed days")
			m.DaysAtPrice = rapid.IntRange(0, m.ListedDays).Draw(t, "days at price")
			earliest = max(0, m.Between-m.DaysAtPrice)
		}
		w := best(t, m)
		kept(t, m, w, earliest)
		if one := bestOnePrice(t, m); w.Expected < one.Expected-1e-6 {
			t.Fatalf("Best expects %v, one price %v", w.Expected, one.Expected)
		}
		if off := bestTenthOff(t, m); !dearer(m, off) && w.Expected < off.Expected-0.002*math.Abs(off.Expected)-20 {
			t.Fatalf("Best expects %v of %v, a tenth off %v of %v", w.Expected, w.Steps, off.Expected, off.Steps)
		}
		again, err := m.Follow(w.Steps)
		if way(t, again, err).Expected != w.Expected {
			t.Fatalf("Follow expects %v, Best %v", again.Expected, w.Expected)
		}
	})
}

// dearer reports whether a way asks more than may be set, as a tenth off of what is asked now may.
func dearer(m estimate.Market, w estimate.Way) bool {
	for _, s := range w.Steps {
		if m.Highest > 0 && s.Price > max(m.Highest, m.Lowest) {
			return true
		}
	}
	return false
}

func kept(t *rapid.T, m estimate.Market, w estimate.Way, earliest int) {
	now, markdowns := w.Steps[0], len(w.Steps)-1
	for i, s := range w.Steps {
		if most := max(m.Highest, m.Lowest); m.Highest > 0 && s.Price > most && (i > 0 || s.Price != m.AskedNow) {
			t.Fatalf("%v with %v at the most", w.Steps, most)
		}
	}
	if dear := m.Highest > 0 && m.AskedNow > max(m.Highest, m.Lowest); dear && m.Most > 0 && earliest < m.Horizon {
		if first := w.Steps[len(w.Steps)-1]; len(w.Steps) > 1 {
			first = w.Steps[1]
			if first.Day != earliest && w.Steps[0].Price == m.AskedNow {
				t.Fatalf("%v stays above %v for longer than it must", w.Steps, m.Highest)
			}
		} else if first.Price > max(m.Highest, m.Lowest) {
			t.Fatalf("%v stays above %v", w.Steps, m.Highest)
		}
	}
	if m.AskedNow > 0 && now.Price != m.AskedNow {
		if earliest > 0 || now.Price > m.AskedNow {
			t.Fatalf("%v from %v, before it may", w.Steps, m.AskedNow)
		}
		markdowns++
	}
	if now.Day != 0 || markdowns > m.Most || now.Price < m.Lowest && now.Price != m.AskedNow {
		t.Fatalf("%v with at most %d markdowns and %v at least", w.Steps, m.Most, m.Lowest)
	}
	for i, s := range w.Steps[1:] {
		if before := w.Steps[i]; s.Price >= before.Price || s.Price < m.Lowest-1e-9 || s.Day < earliest || i > 0 && s.Day-before.Day < m.Between {
			t.Fatalf("%v with %d days between and %v at least", w.Steps, m.Between, m.Lowest)
		}
	}
}

// The dearer the floor, the lower the price on every day, and the sooner it is sold.
func TestMarket_DearFloorLowersPrices(t *testing.T) {
	m := usualMarket(t)
	m.HoldingPerDay = 0
	before := best(t, m)
	for holding := 40.0; holding <= 800; holding += 40 {
		m.HoldingPerDay = holding
		w := best(t, m)
		if w.Steps[0].Price > before.Steps[0].Price || w.Days > before.Days+1e-9 || w.Expected >= before.Expected {
			t.Errorf("at %v a day %v, %v days; at less %v, %v days", holding, w.Steps, w.Days, before.Steps, before.Days)
		}
		before = w
	}
	if first := before.Steps[0].Price; first > 30000 {
		t.Errorf("at 800 a day it still asks %v", first)
	}
}

// What comes of one price, by the sum of it all.
func TestMarket_OnePrice(t *testing.T) {
	m := usualMarket(t)
	w, err := m.OnePrice(33000)
	w = way(t, w, err)
	chance := m.Selling.DayChance(0, math.Log(1.1))
	all := 1 - math.Pow(1-chance, 180)
	near(t, "sold", w.Sold, all, 1e-9)
	near(t, "days", w.Days, all/chance, 1e-6)
	near(t, "expected", w.Expected, all*0.9*33000-60*all/chance+(1-all)*9000, 1e-5)
	near(t, "sold by the first day", w.SoldBy[0], chance, 1e-12)
	near(t, "sold by the last", w.SoldBy[179], w.Sold, 1e-12)
	share, _, _ := m.Selling.Unsold(29, math.Log(1.1))
	near(t, "sold by the thirtieth", w.SoldBy[29], 1-share, 1e-9)
	if len(w.SoldBy) != 180 {
		t.Errorf("SoldBy has %d days", len(w.SoldBy))
	}
}

// A tenth off each time is that, at equal distances, and no worse than any such way that is tried.
func TestMarket_TenthOff(t *testing.T) {
	m := usualMarket(t)
	m.HoldingPerDay, m.Most = 20, 2
	off := bestTenthOff(t, m)
	if len(off.Steps) != 3 || off.Steps[2].Day != 2*off.Steps[1].Day {
		t.Fatalf("%v, want two markdowns at equal distances", off.Steps)
	}
	for i, s := range off.Steps[1:] {
		near(t, "a tenth off", s.Price, 0.9*off.Steps[i].Price, 1e-6)
	}
	for gap := 14; gap < 90; gap += 7 {
		for top := 60000.0; top > 12000; top *= math.Pow(0.9, 0.25) {
			w, err := m.Follow([]estimate.Step{{Price: top}, {Day: gap, Price: 0.9 * top}, {Day: 2 * gap, Price: 0.81 * top}})
			if way(t, w, err).Expected > off.Expected+1e-6 {
				t.Fatalf("%v expects %v, which is more than %v from %v", w.Steps, w.Expected, off.Expected, off.Steps)
			}
		}
	}
}

// A listing that runs goes by the days since it was put up.
func TestMarket_RunningListing(t *testing.T) {
	m := usualMarket(t)
	m.Selling = fitSelling(t, market{rand.New(rand.NewPCG(1, 1)), fading, -3}.listings(3000), estimate.UsualSelling(30))
	fresh, err := m.OnePrice(30000)
	fresh = way(t, fresh, err)
	m.ListedDays, m.DaysAtPrice, m.AskedNow = 40, 4, 30000
	late, err := m.OnePrice(30000)
	late = way(t, late, err)
	near(t, "first day's chance", fresh.SoldBy[0]/late.SoldBy[0], 2, 0.2)
	w := best(t, m)
	if w.Steps[0] != (estimate.Step{Price: 30000}) || len(w.Steps) < 2 || w.Steps[1].Day < 10 {
		t.Errorf("four days after the last markdown %v, want nothing before the tenth day", w.Steps)
	}
	m.DaysAtPrice, m.HoldingPerDay = 40, 500
	if w := best(t, m); !(w.Steps[0].Day == 0 && w.Steps[0].Price < 30000) {
		t.Errorf("on a dear floor %v, want less from today", w.Steps)
	}
}

func TestMarket_Refuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, spoil := range map[string]func(*estimate.Market){
		"likely price": func(m *estimate.Market) { m.Likely = 0 }, "likely price, none": func(m *estimate.Market) { m.Likely = nan },
		"fee": func(m *estimate.Market) { m.FeeShare = 1 }, "fee below": func(m *estimate.Market) { m.FeeShare = -0.1 }, "holding": func(m *estimate.Market) { m.HoldingPerDay = nan }, "holding below": func(m *estimate.Market) { m.HoldingPerDay = -1 },
		"salvage": func(m *estimate.Market) { m.Salvage = -1 }, "lowest": func(m *estimate.Market) { m.Lowest = inf }, "highest": func(m *estimate.Market) { m.Highest = nan }, "asked": func(m *estimate.Market) { m.AskedNow = -5 },
		"between": func(m *estimate.Market) { m.Between = 0 }, "most": func(m *estimate.Market) { m.Most = -1 }, "horizon": func(m *estimate.Market) { m.Horizon = 731 }, "no horizon": func(m *estimate.Market) { m.Horizon = 0 },
		"listed": func(m *estimate.Market) { m.ListedDays = -1 }, "at price": func(m *estimate.Market) { m.DaysAtPrice = -1 },
	} {
		m := usualMarket(t)
		spoil(&m)
		for call, err := range map[string]error{
			"Best": second(m.Best()), "BestOnePrice": second(m.BestOnePrice()), "BestPercentOff": second(m.BestPercentOff(0.1)), "OnePrice": second(m.OnePrice(5)),
		} {
			if f := fault.Of(err); f == nil || f.Reason != "OUT_OF_RANGE" || f.Fields[0].Path == "" {
				t.Errorf("%s, %s = %v, want OUT_OF_RANGE that names it", name, call, err)
			}
		}
	}
	m := usualMarket(t)
	for name, err := range map[string]error{"price": second(m.OnePrice(0)), "price, none": second(m.OnePrice(nan)), "share": second(m.BestPercentOff(0)), "all off": second(m.BestPercentOff(1))} {
		if !fault.Is(err, "OUT_OF_RANGE") {
			t.Errorf("%s = %v, want OUT_OF_RANGE", name, err)
		}
	}
	for name, steps := range map[string][]estimate.Step{
		"none": nil, "late": {{Day: 1, Price: 5}}, "twice": {{Day: 0, Price: 5}, {Day: 0, Price: 4}}, "back": {{Day: 0, Price: 5}, {Day: 9, Price: 4}, {Day: 8, Price: 3}}, "after": {{Day: 0, Price: 5}, {Day: 180, Price: 4}},
	} {
		if _, err := m.Follow(steps); !fault.Is(err, "STEPS_OUT_OF_ORDER") {
			t.Errorf("%s = %v, want STEPS_OUT_OF_ORDER", name, err)
		}
	}
}

func BenchmarkMarket_Best(b *testing.B) {
	m := usualMarket(b)
	for b.Loop() {
		best(b, m)
	}
}

func BenchmarkMarket_BestPercentOff(b *testing.B) {
	m := usualMarket(b)
	for b.Loop() {
		bestTenthOff(b, m)
	}
}
