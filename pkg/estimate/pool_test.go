package estimate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"tackfree/pkg/estimate"
	"tackfree/pkg/fault"
)

// Of equal numbers the drawing is James and Stein's but for the factor k-1 in the place of k-3: by Efron and Morris's
// batters, whose published figures TestJamesStein_Batters has.
func TestPool_OfEqualNumbersIsJamesStein(t *testing.T) {
	hits := []float64{18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7}
	means, counts, average := make([]float64, len(hits)), make([]int, len(hits)), 0.0
	for i, h := range hits {
		means[i], counts[i] = h/45, 45
		average += h / 45 / float64(len(hits))
	}
	variance := average * (1 - average)
	stein, err := estimate.JamesStein(means, variance/45)
	if err != nil {
		t.Fatal(err)
	}
	got, err := estimate.Pool(means, counts, variance)
	if err != nil {
		t.Fatal(err)
	}
	k := float64(len(means))
	for i, m := range means {
		near(t, "how far it is drawn", got[i]-m, (stein[i]-m)*(k-1)/(k-3), 1e-12)
	}
}

func TestPool(t *testing.T) {
	pooled := func(means []float64, counts []int, variance float64) []float64 {
		t.Helper()
		got, err := estimate.Pool(means, counts, variance)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	got := pooled([]float64{10, 30, 20}, []int{2, 50, 50}, 100)
	if average := 24.7058823529; got[0]-10 < 2*(30-got[1]) || got[0] > average || got[1] < average {
		t.Errorf("Pool = %v: what two say is to be drawn further than what fifty say", got)
	}
	same := pooled([]float64{10, 11}, []int{3, 3}, 1000)
	near(t, "no more apart than by chance", same[0], 10.5, 1e-12)
	near(t, "no more apart than by chance", same[1], 10.5, 1e-12)
	near(t, "one alone", pooled([]float64{7}, []int{3}, 5)[0], 7, 0)
	near(t, "without any spread", pooled([]float64{7, 9}, []int{3, 1}, 0)[1], 9, 0)
	for name, err := range map[string]error{
		"TOO_FEW":      second(estimate.Pool(nil, nil, 1)),
		"OUT_OF_RANGE": second(estimate.Pool([]float64{1}, []int{0}, 1)),
	} {
		if !fault.Is(err, name) {
			t.Errorf("Pool = %v, want %s", err, name)
		}
	}
	if err := second(estimate.Pool([]float64{math.NaN()}, []int{1}, 1)); !fault.Is(err, "OUT_OF_RANGE") {
		t.Errorf("Pool of no number = %v", err)
	}
}

// NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.2, column 0.975.
func TestStudent95(t *testing.T) {
	for freedom, want := range map[int]float64{1: 12.706, 4: 2.776, 30: 2.042, 31: 2.040, 40: 2.021, 60: 2.000, 80: 1.990, 100: 1.984} {
		near(t, "t", estimate.Student95(freedom), want, 0.0006)
	}
	if !math.IsInf(estimate.Student95(0), 1) {
		t.Error("with no degree of freedom t is finite")
	}
}

// By hand: 30 and 90 in 1 and 2 hours are 40 an hour; off by -10 and 10, so the spread is 200 ÷ 1 ÷ 1.5² and the half width
// 12.706 × √(88.89 ÷ 2).
func TestRatioOf(t *testing.T) {
	r, ok := estimate.RatioOf([]float64{30, 90}, []float64{1, 2})
	low, high, both := r.Within95()
	near(t, "per hour", r.PerHour, 40, 1e-12)
	near(t, "spread", r.Spread, 200/2.25, 1e-9)
	near(t, "low", low, 40-12.706*math.Sqrt(200/2.25/2), 1e-9)
	near(t, "high", high, 40+12.706*math.Sqrt(200/2.25/2), 1e-9)
	if _, none := estimate.RatioOf([]float64{5}, []float64{0}); !ok || !both || none {
		t.Errorf("RatioOf = %v, %v; of no hours %v", ok, both, none)
	}
	one, _ := estimate.RatioOf([]float64{5}, []float64{2})
	if _, _, ok := one.Within95(); ok || one.PerHour != 2.5 {
		t.Errorf("of one piece = %+v with an interval", one)
	}
}

// Of a simulated source whose truth is known the interval has it about nineteen times in twenty.
func TestRatio_Within95IsKept(t *testing.T) {
	dice := rand.New(rand.NewPCG(7, 9))
	const times, pieces, truth = 2000, 12, 25.0
	within := 0
	for range times {
		var profits, hours []float64
		for range pieces {
			h := 2 + 6*dice.Float64()
			profits, hours = append(profits, truth*h+40*dice.NormFloat64()), append(hours, h)
		}
		r, _ := estimate.RatioOf(profits, hours)
		if low, high, _ := r.Within95(); low <= truth && truth <= high {
			within++
		}
	}
	if share := float64(within) / times; share < 0.925 || share > 0.97 {
		t.Errorf("the truth lies within %.3f of the time, want about 0.95", share)
	}
}
