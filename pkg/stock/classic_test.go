package stock_test

import (
	"math"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/stock"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within || math.IsNaN(got) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

func eoq(t *testing.T, useAYear, orderCost, holding float64) float64 {
	t.Helper()
	q, err := stock.EOQ(useAYear, orderCost, holding)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// Harris's own example: 1,000 a month, a set-up of $2, 10 cents each and a yearly charge of a
// tenth. He rounds 2,190.89 to 2,190. Factory 10(2), February 1913, 136.
func TestEOQ_Harris(t *testing.T) {
	near(t, "the best lot", eoq(t, 12_000, 2, 0.10*0.10), 2190.89, 0.005)
}

// Keys of courses in operations management, with their own rounding put right: demand a year,
// cost of an order and of holding one for a year.
func TestEOQ_Courses(t *testing.T) {
	near(t, "2,500 a year", eoq(t, 2500, 18.75, 1.50), 250, 1e-9)
	ordering, holding := stock.CostAYear(2500, 18.75, 1.50, 250)
	near(t, "to order", ordering, 187.5, 1e-9)
	near(t, "to hold", holding, 187.5, 1e-9)
	near(t, "2,400 a year", eoq(t, 2400, 5, 4), 77.46, 0.005)
	near(t, "14,000 a year", eoq(t, 14_000, 320, 4), 1496.66, 0.005)
	near(t, "1,000 a year", eoq(t, 1000, 5, 1.25), 89.44, 0.005)
	near(t, "60 a day", eoq(t, 60*365, 10, 0.5), 935.95, 0.005)
}

// The same keys. Where a key rounds z, the figure here is with z in full.
func TestReorderPoint_Courses(t *testing.T) {
	for _, c := range []struct {
		name          string
		use, lead     stock.Spread
		service       float64
		want, mostOff float64
	}{
		{"10 a day, 3 days, σ over them 4", stock.Spread{Mean: 10, SD: 4 / math.Sqrt(3)}, stock.Spread{Mean: 3}, 0.95, 36.58, 0.005},
		{"2,400 a year, σ 4 a day, 7 days", stock.Spread{Mean: 2400.0 / 365, SD: 4}, stock.Spread{Mean: 7}, 0.98, 46.03 + 2.053749*10.583, 0.01},
		{"2 a day, 12 days, σ over them 20", stock.Spread{Mean: 2, SD: 20 / math.Sqrt(12)}, stock.Spread{Mean: 12}, 0.95, 56.9, 0.005},
		{"14,000 a year, σ 120 a week, 3 weeks", stock.Spread{Mean: 14_000.0 / 52, SD: 120}, stock.Spread{Mean: 3}, 0.95, 1149.57, 0.005},
		{"60 a day, σ 7, 6 days", stock.Spread{Mean: 60, SD: 7}, stock.Spread{Mean: 6}, 0.95, 388.20, 0.005},
	} {
		got, err := stock.ReorderPoint(c.use, c.lead, c.service)
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.name, got, c.want, c.mostOff)
	}
}

// z of the usual service levels, as any table of the normal distribution has them.
func TestSafetyStock_Levels(t *testing.T) {
	for service, z := range map[float64]float64{0.80: 0.841621, 0.90: 1.281552, 0.95: 1.644854, 0.975: 1.959964, 0.98: 2.053749, 0.99: 2.326348, 0.999: 3.090232, 0.5: 0} {
		got, err := stock.SafetyStock(service, 1)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "z", got, z, 5e-7)
	}
	for _, bad := range []float64{0, 0.49, 1, 95, -1, math.NaN()} {
		if _, err := stock.SafetyStock(bad, 1); fault.Of(err) == nil || fault.Of(err).Reason != "OUT_OF_RANGE" {
			t.Errorf("a service level of %v: %v", bad, err)
		}
	}
}

// Exercises on the newsvendor: price, cost and what is got for what is left over.
func TestOneOrder_Newsvendor(t *testing.T) {
	for _, c := range []struct {
		price, cost, salvage float64
		demand               stock.Spread
		ratio, best, missed  float64 // missed below zero: not said
	}{
		{1.40, 0.45, 0, stock.Spread{Mean: 340, SD: 68}, 0.678571, 371.53, -1},
		{140, 100, 90, stock.Spread{Mean: 1000, SD: 200}, 0.8, 1168.32, 22.33},
		{130, 100, 80, stock.Spread{Mean: 1000, SD: 200}, 0.6, 1050.67, 57.00},
		{20, 14, 5, stock.Spread{Mean: 115, SD: 15}, 0.4, 111.2, -1},
	} {
		ratio, err := stock.CriticalRatio(c.price-c.cost, c.cost-c.salvage)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "the ratio", ratio, c.ratio, 5e-7)
		q := stock.OneOrder(c.demand, ratio)
		near(t, "the order", q, c.best, 0.005+0.04*b2f(c.best == 111.2)) // one is given to a tenth
		if c.missed >= 0 {
			near(t, "what is missed", stock.Missed(c.demand, q), c.missed, 0.005)
		}
	}
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// A supplier is believed until deliveries say otherwise, and the more of them the more.
func TestLearn(t *testing.T) {
	learn := func(stated float64, took ...float64) stock.Spread {
		s, err := stock.Learn(stated, took)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	near(t, "what is stated", learn(8).Mean, 8, 1e-12)
	one, five := learn(8, 14), learn(8, 14, 13, 14, 15, 14)
	if !(8 < one.Mean && one.Mean < five.Mean && five.Mean < 14) {
		t.Errorf("stated 8, then 14 once %v and five times %v", one.Mean, five.Mean)
	}
	if steady, wild := learn(8, 8, 8, 8, 8), learn(8, 2, 14, 1, 15); steady.SD >= learn(8).SD || wild.SD <= steady.SD {
		t.Errorf("always 8 days spreads %v, 1 to 15 days %v, unseen %v", steady.SD, wild.SD, learn(8).SD)
	}
	if _, err := stock.Learn(8, []float64{-1}); err == nil {
		t.Error("a delivery before its order")
	}
}
