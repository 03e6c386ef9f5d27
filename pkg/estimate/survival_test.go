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

// Weeks of remission of children with leukaemia, treated with 6-mercaptopurine or a placebo;
// below 0: still in remission when last seen. E. J. Freireich and others, Blood 21 (1963)
// 699-716, as given by E. A. Gehan, Biometrika 52 (1965) 203-223.
var (
	treated = []float64{6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32, -34, -35}
	placebo = []float64{1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23}
)

func observed(weeks []float64) []estimate.Observed {
	var all []estimate.Observed
	for _, w := range weeks {
		all = append(all, estimate.Observed{Days: math.Abs(w), Sold: w > 0})
	}
	return all
}

// The course and Greenwood's standard errors as textbooks print them.
func TestKaplanMeier_Remission(t *testing.T) {
	want := []estimate.KMStep{
		{6, 21, 3, 0.857143, 0.0764}, {7, 17, 1, 0.806723, 0.0869}, {10, 15, 1, 0.752941, 0.0963}, {13, 12, 1, 0.690196, 0.1068},
		{16, 11, 1, 0.627451, 0.1141}, {22, 7, 1, 0.537815, 0.1282}, {23, 6, 1, 0.448179, 0.1346},
	}
	got, err := estimate.KaplanMeier(observed(treated))
	if err != nil || len(got) != len(want) {
		t.Fatalf("KaplanMeier = %v, %v, want %d steps", got, err, len(want))
	}
	for i, w := range want {
		g := got[i]
		if g.Day != w.Day || g.AtRisk != w.AtRisk || g.Sold != w.Sold {
			t.Errorf("step %d = %+v, want %+v", i, g, w)
		}
		near(t, fmt.Sprintf("share at %v", w.Day), g.Survival, w.Survival, 1e-6)
		near(t, fmt.Sprintf("its error at %v", w.Day), g.StdErr, w.StdErr, 5e-5)
	}
	got, err = estimate.KaplanMeier(observed(placebo))
	if err != nil {
		t.Fatal(err)
	}
	for i, w := range []float64{.9048, .8095, .7619, .6667, .5714, .3810, .2857, .1905, .1429, .0952, .0476, 0} {
		near(t, fmt.Sprintf("placebo, step %d", i), got[i].Survival, w, 5e-5)
	}
	if last := got[len(got)-1]; last.StdErr != 0 {
		t.Errorf("after the last %+v, want no error of nothing", last)
	}
	if none, err := estimate.KaplanMeier(nil); err != nil || len(none) != 0 {
		t.Errorf("of nothing %v, %v", none, err)
	}
}

func remission() []estimate.Spell {
	var all []estimate.Spell
	for group, weeks := range [][]float64{treated, placebo} {
		for _, w := range weeks {
			all = append(all, estimate.Spell{To: math.Abs(w), Sold: w > 0, LogRatio: float64(group)})
		}
	}
	return all
}

func fitSelling(t tester, spells []estimate.Spell, prior estimate.SellingPrior) *estimate.Selling {
	t.Helper()
	s, err := estimate.FitSelling(spells, prior)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// knowsNothing is a prior that says next to nothing of the elasticity.
func knowsNothing(median float64) estimate.SellingPrior {
	return estimate.SellingPrior{MedianDays: median, ElasticitySD: 100}
}

// Cox's model of the same data with the treatment as covariate is 1.509 with Breslow's ties,
// standard error 0.410 (1.572 with Efron's); printed by many programs and textbooks, from memory.
func TestFitSelling_Remission(t *testing.T) {
	s := fitSelling(t, remission(), knowsNothing(10))
	mean, sd := elasticity(t, knowsNothing(10))
	near(t, "coefficient", mean, 1.5092, 1e-3)
	near(t, "its error", sd, 0.4096, 1e-3)
	if s.Sales() != 30 {
		t.Errorf("Sales() = %d, want 30", s.Sales())
	}
	// A prior of 0 that is as sure as the data draws it half the way, nearly.
	mean, sd = elasticity(t, estimate.SellingPrior{MedianDays: 10, ElasticitySD: 0.41})
	near(t, "coefficient, drawn to 0", mean, 1.509/2, 0.06)
	near(t, "its error then", sd, 0.41/math.Sqrt2, 0.03)
}

func elasticity(t *testing.T, prior estimate.SellingPrior) (mean, sd float64) {
	t.Helper()
	return fitSelling(t, remission(), prior).Elasticity()
}

// market is a made-up one, where the chance in a day is known.
type market struct {
	random     *rand.Rand
	rate       func(day float64) float64
	elasticity float64
}

// listing stands at a price, marked down by a tenth each 30 days, until it is sold or withdrawn
// after some days.
func (m market) listing(logRatio, withdrawn float64) (spells []estimate.Spell) {
	for from := 0.0; ; from += 30 {
		s := estimate.Spell{From: from, To: min(from+30, withdrawn), LogRatio: logRatio}
		day := from
		for day < s.To && !s.Sold {
			day++
			s.Sold = m.random.Float64() < -math.Expm1(-m.rate(day-1)*math.Exp(m.elasticity*logRatio))
		}
		s.To = min(day, s.To)
		spells = append(spells, s)
		if s.Sold || s.To == withdrawn {
			return spells
		}
		logRatio += math.Log(0.9)
	}
}

func (m market) listings(n int) (all []estimate.Spell) {
	for range n {
		all = append(all, m.listing(0.4*m.random.NormFloat64(), math.Ceil(200*m.random.Float64()))...)
	}
	return all
}

// fading is a rate that is higher at first, as it is when a piece is new to all who look.
func fading(day float64) float64 {
	if day < 14 {
		return 0.04
	}
	return 0.02
}

// The elasticity and the course are found from listings that were marked down and withdrawn.
func TestFitSelling_RecoversTheTruth(t *testing.T) {
	m := market{rand.New(rand.NewPCG(1, 1)), fading, -2.2}
	s := fitSelling(t, m.listings(4000), estimate.UsualSelling(60))
	mean, sd := s.Elasticity()
	near(t, "elasticity", mean, -2.2, 3*sd)
	if sd > 0.1 {
		t.Errorf("after 4000 listings its error is %v", sd)
	}
	for _, day := range []int{0, 6, 20, 45, 80, 150} {
		near(t, fmt.Sprintf("chance on day %d", day), s.DayChance(day, 0.2), -math.Expm1(-fading(float64(day))*math.Exp(-0.44)), 0.003)
	}
	for _, day := range []int{13, 60, 120} {
		want := math.Exp(-(0.04*14 + 0.02*float64(day-13)))
		share, _, _ := s.Unsold(day, 0)
		near(t, fmt.Sprintf("unsold after day %d", day), share, want, 0.02)
	}
	near(t, "median", s.Days(0.5, 0), 14+(math.Ln2-0.56)/0.02, 1.5)
}

// At one price the course is Kaplan and Meier's, to within what a stretch blurs.
func TestFitSelling_AgreesWithKaplanMeier(t *testing.T) {
	m := market{rand.New(rand.NewPCG(4, 1)), fading, -2}
	var spells []estimate.Spell
	var seen []estimate.Observed
	for range 3000 {
		end := math.Ceil(170 * m.random.Float64())
		one := m.listing(0, end)
		last := one[len(one)-1]
		spells = append(spells, estimate.Spell{To: last.To, Sold: last.Sold})
		seen = append(seen, estimate.Observed{Days: last.To, Sold: last.Sold})
	}
	s := fitSelling(t, spells, estimate.UsualSelling(30))
	steps, err := estimate.KaplanMeier(seen)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range steps {
		if k.AtRisk < 50 {
			break
		}
		share, _, _ := s.Unsold(int(k.Day)-1, 0)
		near(t, fmt.Sprintf("unsold after %v days", k.Day), share, k.Survival, 3*k.StdErr+0.01)
	}
}

// With no listings the prior stands; with few it is drawn toward them, with many they win.
func TestFitSelling_LeansOnThePriorThenOnSales(t *testing.T) {
	s := fitSelling(t, nil, estimate.UsualSelling(40))
	near(t, "median", s.Days(0.5, 0), 40, 1e-9)
	near(t, "median at a tenth more", s.Days(0.5, math.Log(1.1)), 40*1.331, 1e-9)
	share, low, high := s.Unsold(39, 0)
	near(t, "unsold after 40 days", share, 0.5, 1e-9)
	if !(low < 0.3 && high > 0.7) {
		t.Errorf("which is sure of itself: %v to %v", low, high)
	}
	if mean, sd := s.Elasticity(); mean != -3 || math.Abs(sd-1.5) > 1e-12 || s.Sales() != 0 {
		t.Errorf("Elasticity() = %v, %v of %d sales, want the prior", mean, sd, s.Sales())
	}
	m := market{rand.New(rand.NewPCG(2, 1)), func(float64) float64 { return math.Ln2 / 10 }, -3}
	width := high - low
	for _, c := range []struct {
		listings      int
		above, median float64
	}{{5, 12, 30}, {40, 8, 14}, {1000, 9, 11}} {
		s := fitSelling(t, m.listings(c.listings), estimate.UsualSelling(40))
		_, low, high := s.Unsold(9, 0)
		if now := s.Days(0.5, 0); !(now > c.above && now < c.median && high-low < width) {
			t.Errorf("after %d listings the median is %v; unsold is known to %v, and before to %v", c.listings, now, high-low, width)
		}
		width = high - low
	}
}

// In nine shops of ten the true share is between low and high, also where few were seen.
func TestFitSelling_IsCalibrated(t *testing.T) {
	for _, n := range []int{0, 10, 60, 300} {
		var in, all float64
		for seed := range uint64(150) {
			random := rand.New(rand.NewPCG(seed, 7))
			rate := math.Ln2 / 30 * math.Exp(0.55*random.NormFloat64())
			m := market{random, func(float64) float64 { return rate }, -3 + 1.5*random.NormFloat64()}
			s := fitSelling(t, m.listings(n), estimate.UsualSelling(30))
			for _, day := range []int{6, 29, 89} {
				for _, ratio := range []float64{-0.2, 0, 0.3} {
					_, low, high := s.Unsold(day, ratio)
					if truth := math.Exp(-rate * float64(day+1) * math.Exp(m.elasticity*ratio)); truth > low && truth < high {
						in++
					}
					all++
				}
			}
		}
		near(t, fmt.Sprintf("after %d listings, share of truths between", n), in/all, 0.92, 0.06)
	}
}

// To cut a spell in two changes nothing, nor does their order.
func TestFitSelling_CutsAndOrderDoNotMatter(t *testing.T) {
	m := market{rand.New(rand.NewPCG(3, 1)), fading, -2}
	whole := m.listings(120)
	want := fitSelling(t, whole, estimate.UsualSelling(30))
	rapid.Check(t, func(t *rapid.T) {
		var cut []estimate.Spell
		for _, s := range whole {
			if at := s.From + (s.To-s.From)*rapid.Float64Range(0.1, 0.9).Draw(t, "at"); rapid.Bool().Draw(t, "cut") {
				cut = append(cut, estimate.Spell{From: s.From, To: at, LogRatio: s.LogRatio})
				s.From = at
			}
			cut = append(cut, s)
		}
		cut = rapid.Permutation(cut).Draw(t, "order")
		got := fitSelling(t, cut, estimate.UsualSelling(30))
		wantMean, wantSD := want.Elasticity()
		mean, sd := got.Elasticity()
		near(t, "elasticity", mean, wantMean, 1e-7)
		near(t, "its error", sd, wantSD, 1e-7)
		for _, day := range []int{3, 40, 400} {
			near(t, "chance", got.DayChance(day, 0.1), want.DayChance(day, 0.1), 1e-7)
		}
	})
}

// The share falls day by day, faster at a lower price, Days is its inverse, and DayChance what
// makes it.
func TestSelling_HangsTogether(t *testing.T) {
	m := market{rand.New(rand.NewPCG(5, 1)), fading, -2}
	s := fitSelling(t, m.listings(200), estimate.UsualSelling(30))
	left := 1.0
	for day := range 900 {
		left *= 1 - s.DayChance(day, -0.1)
		share, low, high := s.Unsold(day, -0.1)
		dearer, _, _ := s.Unsold(day, 0.1)
		near(t, "unsold", share, left, 1e-9)
		if !(low <= share && share <= high && dearer > share) {
			t.Fatalf("day %d: %v between %v and %v, dearer %v", day, share, low, high, dearer)
		}
		if share > 1e-6 {
			near(t, "days", s.Days(1-share, -0.1), float64(day+1), 1e-6)
		}
	}
	if d := s.Days(0, 0); d != 0 {
		t.Errorf("Days(0) = %v", d)
	}
	if d := s.Days(0.999999, 5); !(d > 0 && d <= 36500) {
		t.Errorf("Days far out = %v", d)
	}
}

// Prices far out, as a slip makes them, are no trouble.
func TestFitSelling_FarOut(t *testing.T) {
	for _, ratio := range []float64{-5, 5} {
		s := fitSelling(t, append(remission(), estimate.Spell{To: 3, Sold: true, LogRatio: ratio}, estimate.Spell{From: 3, To: 30000, LogRatio: -ratio}), knowsNothing(10))
		mean, sd := s.Elasticity()
		if share, low, high := s.Unsold(10, 0); !(mean > -20 && mean < 20 && sd > 0 && low <= share && share <= high) {
			t.Errorf("elasticity %v ± %v, unsold %v between %v and %v", mean, sd, share, low, high)
		}
	}
}

func TestSelling_Refuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	usual := estimate.UsualSelling(30)
	fit := func(s estimate.Spell) error { return second(estimate.FitSelling([]estimate.Spell{s}, usual)) }
	prior := func(median, mean, sd float64) error {
		return second(estimate.FitSelling(nil, estimate.SellingPrior{MedianDays: median, ElasticityMean: mean, ElasticitySD: sd}))
	}
	for name, err := range map[string]error{
		"from": fit(estimate.Spell{From: -1, To: 3}), "from nowhere": fit(estimate.Spell{From: nan, To: 3}), "no days": fit(estimate.Spell{From: 3, To: 3}), "backwards": fit(estimate.Spell{From: 3, To: 2}),
		"to": fit(estimate.Spell{To: inf}), "to nowhere": fit(estimate.Spell{To: nan}), "ratio": fit(estimate.Spell{To: 3, LogRatio: nan}), "far ratio": fit(estimate.Spell{To: 3, LogRatio: 6}),
		"median 0": prior(0, -3, 1), "median": prior(nan, -3, 1), "elasticity": prior(30, inf, 1), "sure": prior(30, -3, 0), "spread": prior(30, -3, nan),
		"days": second(estimate.KaplanMeier([]estimate.Observed{{Days: -1}})), "days without end": second(estimate.KaplanMeier([]estimate.Observed{{Days: nan}})),
	} {
		if f := fault.Of(err); f == nil || f.Reason != "OUT_OF_RANGE" || f.Fields[0].Path == "" {
			t.Errorf("%s = %v, want OUT_OF_RANGE that names the argument", name, err)
		}
	}
}

func BenchmarkFitSelling_5000(b *testing.B) {
	spells := market{rand.New(rand.NewPCG(6, 1)), fading, -2}.listings(5000)
	for b.Loop() {
		fitSelling(b, spells, estimate.UsualSelling(30))
	}
}
