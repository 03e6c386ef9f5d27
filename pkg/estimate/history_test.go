package estimate_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/estimate"
	"tackfree/pkg/fault"
)

func history(t testing.TB) *estimate.History {
	t.Helper()
	h := &estimate.History{}
	if err := h.Define("sand", estimate.Default{MinutesPerUnit: 20, Exponent: 0.8}); err != nil {
		t.Fatal(err)
	}
	return h
}

func observe(t testing.TB, h *estimate.History, who string, size, minutes float64) {
	t.Helper()
	if err := h.Observe("sand", who, size, minutes); err != nil {
		t.Fatal(err)
	}
}

func forecast(t testing.TB, h *estimate.History, who string, size float64) estimate.LogNormal {
	t.Helper()
	l, err := h.Forecast("sand", who, size)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Before there is anything to go by, the default holds, and says how little it knows.
func TestHistory_Default(t *testing.T) {
	h := history(t)
	l := forecast(t, h, "", 1)
	near(t, "median", l.Median(), 20, 1e-9)
	if narrow := l.Sigma; narrow < 0.7 {
		t.Errorf("sigma = %v, which is sure of itself", narrow)
	}
	near(t, "twice the size", forecast(t, h, "", 2).Median(), 20*math.Pow(2, 0.8), 1e-9)
}

// What was seen draws the forecast from the default toward it, never past it, the more the
// more was seen; and makes it surer.
func TestHistory_ShrinksBetweenPriorAndData(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := &estimate.History{}
		if err := h.Define("sand", estimate.Default{MinutesPerUnit: 20, Exponent: 1}); err != nil {
			t.Fatal(err)
		}
		real := rapid.Float64Range(4, 100).Draw(t, "minutes")
		before, sigma := 20.0, math.Inf(1)
		for range rapid.IntRange(1, 60).Draw(t, "observations") {
			if err := h.Observe("sand", "Nell", 1, real); err != nil {
				t.Fatal(err)
			}
			l, err := h.Forecast("sand", "Nell", 1)
			if err != nil {
				t.Fatal(err)
			}
			if m := l.Median(); math.Abs(m-real) > math.Abs(before-real)+1e-9 || (m-real)*(20-real) < -1e-9 {
				t.Fatalf("median %v after %v, toward %v", m, before, real)
			}
			if l.Sigma > sigma+1e-12 {
				t.Fatalf("sigma %v after %v", l.Sigma, sigma)
			}
			before, sigma = l.Median(), l.Sigma
		}
	})
}

// Somebody new is expected between the default and what the others took; somebody slow is
// expected slower than the others, but not as slow as they were once.
func TestHistory_PeopleLeanOnTheShop(t *testing.T) {
	h := history(t)
	for i := range 30 {
		for p := range 4 {
			observe(t, h, fmt.Sprint("helper ", p), 1, 40*math.Exp(0.2*math.Sin(float64(7*i+p))))
		}
	}
	observe(t, h, "Joss", 1, 120)
	fresh, joss, usual := forecast(t, h, "Nell", 1).Median(), forecast(t, h, "Joss", 1).Median(), forecast(t, h, "helper 0", 1).Median()
	if fresh < 30 || fresh > 50 {
		t.Errorf("somebody new = %v, want near the others' 40", fresh)
	}
	if !(joss > usual && joss < 110) {
		t.Errorf("Joss = %v, want between the others' %v and the 120 of one time", joss, usual)
	}
}

// The sums give what going through all observations gives, in whatever order.
func TestHistory_OrderDoesNotMatter(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	type seen struct {
		who           string
		size, minutes float64
	}
	var all []seen
	for range 200 {
		all = append(all, seen{fmt.Sprint(random.IntN(5)), 0.2 + random.Float64(), 5 + 60*random.Float64()})
	}
	one, other := history(t), history(t)
	for _, s := range all {
		observe(t, one, s.who, s.size, s.minutes)
	}
	slices.Reverse(all)
	for _, s := range all {
		observe(t, other, s.who, s.size, s.minutes)
	}
	a, b := forecast(t, one, "3", 0.7), forecast(t, other, "3", 0.7)
	near(t, "mu", a.Mu, b.Mu, 1e-9)
	near(t, "sigma", a.Sigma, b.Sigma, 1e-9)
}

// In a made-up shop with a known truth, eight in ten times stay under the eightieth
// percentile that was forecast beforehand, also for people seen seldom.
func TestHistory_IsCalibrated(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	under, all := 0, 0
	for range 200 { // shops
		h := history(t)
		level := math.Log(20) + math.Sqrt(0.5)*random.NormFloat64()
		var own [5]float64
		for i := range own {
			own[i] = math.Sqrt(0.06) * random.NormFloat64()
		}
		for range 40 {
			who := random.IntN(len(own))
			size := math.Exp(random.NormFloat64() / 2)
			minutes := math.Exp(level + own[who] + 0.8*math.Log(size) + math.Sqrt(0.12)*random.NormFloat64())
			if minutes < quantile(t, forecast(t, h, fmt.Sprint(who), size), 0.8) {
				under++
			}
			all++
			observe(t, h, fmt.Sprint(who), size, minutes)
		}
	}
	near(t, "share under the eightieth percentile", float64(under)/float64(all), 0.8, 0.02)
}

func TestHistory_DefineAgain(t *testing.T) {
	h := history(t)
	observe(t, h, "Nell", 1, 30)
	before := forecast(t, h, "Nell", 1).Median()
	if err := h.Define("sand", estimate.Default{MinutesPerUnit: 60, Exponent: 0.8}); err != nil {
		t.Fatal(err)
	}
	if after := forecast(t, h, "Nell", 1).Median(); after <= before {
		t.Errorf("with a slower default %v, before %v", after, before)
	}
	if err := h.Define("sand", estimate.Default{MinutesPerUnit: 60, Exponent: 1}); !fault.Is(err, "KIND_HAS_DATA") {
		t.Errorf("another exponent = %v, want KIND_HAS_DATA", err)
	}
}

// The sum's percentiles are those of adding the tasks up at random, to a few in a hundred.
func TestSum_AgainstSimulation(t *testing.T) {
	tasks := []estimate.LogNormal{{Mu: 3, Sigma: 0.5}, {Mu: 2.5, Sigma: 0.7}, {Mu: 3.5, Sigma: 0.4}, {Mu: 2, Sigma: 0.6}, {Mu: 3, Sigma: 0.3}}
	sum, err := estimate.Sum(tasks...)
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(7, 8))
	drawn := make([]float64, 100_000)
	mean := 0.0
	for i := range drawn {
		for _, task := range tasks {
			drawn[i] += math.Exp(task.Mu + task.Sigma*random.NormFloat64())
		}
		mean += drawn[i] / float64(len(drawn))
	}
	slices.Sort(drawn)
	near(t, "mean", sum.Mean(), mean, 0.01*mean)
	for _, p := range []float64{0.1, 0.5, 0.8, 0.9} {
		want := drawn[int(p*float64(len(drawn)))]
		near(t, fmt.Sprintf("P%v", 100*p), quantile(t, sum, p), want, 0.03*want)
	}
	one, err := estimate.Sum(tasks[0])
	if err != nil {
		t.Fatal(err)
	}
	near(t, "of one task", one.Sigma, 0.5, 1e-12)
}

// Nobody knows yet how long a new shop takes to strip: if the first piece takes longer than
// is usual, so will the other nineteen. Drawn as that: one level for all, chance for each.
func TestSumTasks_ErrTogether(t *testing.T) {
	const shared, chance = 0.5, 0.18
	var alike, apart []estimate.Task
	for i := range 20 {
		task := estimate.Task{LogNormal: estimate.LogNormal{Mu: 2, Sigma: math.Sqrt(shared + chance)}, Kind: "strip", Shared: shared}
		alike = append(alike, task)
		task.Kind = fmt.Sprint("kind ", i)
		apart = append(apart, task)
	}
	random := rand.New(rand.NewPCG(3, 4))
	drawn := make([]float64, 50_000)
	for i := range drawn {
		level := math.Sqrt(shared) * random.NormFloat64()
		for range alike {
			drawn[i] += math.Exp(2 + level + math.Sqrt(chance)*random.NormFloat64())
		}
	}
	slices.Sort(drawn)
	sum, err := estimate.SumTasks(alike...)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []float64{0.05, 0.5, 0.95} {
		want := drawn[int(p*float64(len(drawn)))]
		near(t, fmt.Sprintf("P%v", 100*p), quantile(t, sum, p), want, 0.03*want)
	}
	other, err := estimate.SumTasks(apart...)
	if err != nil || other.Sigma > sum.Sigma/2 {
		t.Errorf("of twenty kinds the spread is %v, of one %v, %v", other.Sigma, sum.Sigma, err)
	}
}

// What is shared is the doubt in the kind, which goes as the shop gets to know itself.
func TestHistory_Task_SharesTheDoubtInItsKind(t *testing.T) {
	h := history(t)
	fresh, err := h.Task("sand", "", 1)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 200 {
		observe(t, h, fmt.Sprint(i%6), 1, 18+float64(i%9))
	}
	known, err := h.Task("sand", "", 1)
	if err != nil || !(known.Shared < fresh.Shared/10) || fresh.Kind != "sand" {
		t.Errorf("a new shop shares %v of kind %q, one that has done it 200 times %v, %v", fresh.Shared, fresh.Kind, known.Shared, err)
	}
	if _, err := estimate.SumTasks(estimate.Task{LogNormal: estimate.LogNormal{Mu: 1, Sigma: 0.1}, Shared: 0.5}); err == nil {
		t.Error("a task shares more than all its doubt")
	}
}

func BenchmarkHistory_Observe(b *testing.B) {
	h := history(b)
	for i := range b.N {
		observe(b, h, fmt.Sprint(i%12), 1+float64(i%7), 20+float64(i%40))
	}
}

// A history restored from its people's sums forecasts as the one that saw it all, and goes
// on learning like it.
func TestHistory_Restore(t *testing.T) {
	seen, kept := estimate.History{}, estimate.History{}
	for _, h := range []*estimate.History{&seen, &kept} {
		if err := h.Define("sand", estimate.Default{MinutesPerUnit: 14, Exponent: 0}); err != nil {
			t.Fatal(err)
		}
	}
	sums := map[string]estimate.Sums{}
	for i, minutes := range []float64{12, 19, 25, 40, 9} {
		who := []string{"Nell", "Odo"}[i%2]
		if err := seen.Observe("sand", who, 1, minutes); err != nil {
			t.Fatal(err)
		}
		y := math.Log(minutes)
		sums[who] = estimate.Sums{N: sums[who].N + 1, Sum: sums[who].Sum + y, Squares: sums[who].Squares + y*y}
	}
	for who, s := range sums {
		if err := kept.Restore("sand", who, s); err != nil {
			t.Fatal(err)
		}
	}
	for range 2 {
		for _, who := range []string{"", "Nell", "Odo"} {
			want, _ := seen.Forecast("sand", who, 1)
			got, err := kept.Forecast("sand", who, 1)
			if err != nil || math.Abs(got.Mu-want.Mu) > 1e-12 || math.Abs(got.Sigma-want.Sigma) > 1e-12 {
				t.Errorf("Forecast for %q = %v, %v, want %v", who, got, err, want)
			}
		}
		for _, h := range []*estimate.History{&seen, &kept} {
			if err := h.Observe("sand", "Nell", 1, 30); err != nil {
				t.Fatal(err)
			}
		}
	}
}

func TestHistory_Restore_Refuses(t *testing.T) {
	var h estimate.History
	if err := h.Restore("sand", "Nell", estimate.Sums{N: 1}); !fault.Is(err, "KIND_UNKNOWN") {
		t.Errorf("Restore of an unknown kind = %v, want KIND_UNKNOWN", err)
	}
	if err := h.Define("sand", estimate.Default{MinutesPerUnit: 14}); err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]estimate.Sums{
		"None": {}, "Fewer": {N: -1, Sum: 1, Squares: 1}, "NotANumber": {N: 1, Sum: math.NaN(), Squares: 1},
		"TooFar": {N: 1, Sum: 51, Squares: 51 * 51}, "SquaresTooFew": {N: 2, Sum: 2, Squares: 1.9},
	} {
		if err := h.Restore("sand", "Nell", s); !fault.Is(err, "OUT_OF_RANGE") {
			t.Errorf("%s: Restore = %v, want OUT_OF_RANGE", name, err)
		}
	}
}
