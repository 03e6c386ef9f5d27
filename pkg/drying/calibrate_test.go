package drying_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/climate"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
)

func calibrate(t testing.TB, p drying.Product, c *drying.Curve, o drying.Outcome) drying.Factor {
	t.Helper()
	f, err := p.Calibrate(c, drying.Coat{At: eight}, o)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// By hand: between two sightings a second apart nothing is censored, so the belief is that
// of the conjugate normal model: prior variance 0.16, of one job 0.04, so the weight is 0.8
// and the variance 0.032.
func TestCalibrate_AsConjugate(t *testing.T) {
	p := shellac()
	c := steady(t, p.Kinetics, 25, 50)
	f := calibrate(t, p, c, drying.Outcome{Milestone: drying.TackFree, NotYet: after(1.5), Reached: after(1.5).Add(time.Second)})
	near(t, "mean", f.LogMean, 0.8*math.Log(1.5), 2e-4)
	near(t, "spread", f.LogStdDev, math.Sqrt(0.032), 2e-4)
	if f.Outcomes != 1 {
		t.Errorf("Outcomes = %d, want 1", f.Outcomes)
	}
}

// A shop in which everything takes 1.4 times as long learns it from sightings that are
// hours apart, and grows sure of it.
func TestCalibrate_LearnsFromSightings(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	p := shellac()
	c := watched(t, p.Kinetics, 25, 50, 3, 24)
	before := math.Inf(1)
	for i := range 40 {
		real := 2.5 * 1.4 * math.Exp(0.2*random.NormFloat64())
		look := real * (0.4 + 0.5*random.Float64())
		o := drying.Outcome{Milestone: drying.DryToRecoat, NotYet: after(look), Reached: after(real * (1.05 + random.Float64()))}
		if i%4 == 0 {
			o.NotYet = time.Time{} // only seen when it was dry
		}
		p.Factor = calibrate(t, p, c, o)
	}
	near(t, "factor", p.Factor.Usual(), 1.4, 0.15)
	if p.Factor.LogStdDev > 0.08 || p.Factor.LogStdDev > before {
		t.Errorf("spread = %v after 40 sightings", p.Factor.LogStdDev)
	}
	w := forecast(t, p, c, drying.Coat{At: eight})[drying.DryToRecoat]
	near(t, "likely", w.Likely.Sub(eight).Hours(), 2.5*p.Factor.Usual(), 1e-3)
	if narrow := w.Late.Sub(w.Early).Hours(); narrow > 2.5 {
		t.Errorf("the window is %v h wide", narrow)
	}
}

// Whatever is seen, the belief moves toward it: not yet dry makes it slower, dry makes it
// faster, and it is never less sure by much.
func TestCalibrate_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := shellac()
		c, err := drying.Trace(p.Kinetics, weather(t))
		if err != nil {
			t.Fatal(err)
		}
		likely := forecast2(t, p, c)[drying.TackFree].Likely
		at := eight.Add(time.Duration(rapid.Float64Range(0.3, 2).Draw(t, "share") * float64(likely.Sub(eight))))
		slower, err := p.Calibrate(c, drying.Coat{At: eight}, drying.Outcome{Milestone: drying.TackFree, NotYet: at})
		if err != nil || slower.LogMean < 0 {
			t.Fatalf("still tacky makes it %v, %v", slower, err)
		}
		faster, err := p.Calibrate(c, drying.Coat{At: eight}, drying.Outcome{Milestone: drying.TackFree, Reached: at})
		if err != nil || faster.LogMean > 0 {
			t.Fatalf("dry makes it %v, %v", faster, err)
		}
		if slower.LogStdDev > 0.4+1e-6 || faster.LogStdDev > 0.4+1e-6 {
			t.Fatalf("less sure: %v, %v", slower, faster)
		}
	})
}

func TestRefuses(t *testing.T) {
	p, nan := shellac(), math.NaN()
	c := steady(t, p.Kinetics, 25, 50)
	coat := drying.Coat{At: eight}
	product := func(change func(*drying.Product)) error {
		q := shellac()
		change(&q)
		return second(q.Forecast(c, coat))
	}
	kinetics := func(change func(*drying.Kinetics)) error {
		k := p.Kinetics
		change(&k)
		return second(k.Rate(air(t, 20, 50)))
	}
	usual, err := drying.CycleOf(days(t), time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	last := drying.Reading{At: eight, Air: air(t, 25, 50)}
	for name, x := range map[string]struct {
		reason string
		err    error
	}{
		"carrier":     {"CARRIER_UNKNOWN", kinetics(func(k *drying.Kinetics) { k.Carrier = "milk" })},
		"reference":   {"OUT_OF_RANGE", kinetics(func(k *drying.Kinetics) { k.ReferenceCelsius = nan })},
		"humidity":    {"OUT_OF_RANGE", kinetics(func(k *drying.Kinetics) { k.ReferenceHumidity = 101 })},
		"lowest":      {"OUT_OF_RANGE", kinetics(func(k *drying.Kinetics) { k.MinCelsius = 26 })},
		"far too low": {"OUT_OF_RANGE", kinetics(func(k *drying.Kinetics) { k.MinCelsius = -21 })},
		"lowest of":   {"CARRIER_UNKNOWN", second(drying.Kinetics{}.Lowest())},
		"too cold":    {"CARRIER_UNKNOWN", second(drying.Kinetics{}.TooCold(air(t, 20, 50)))},
		"no air":      {"AIR_MISSING", second(p.Rate(climate.Air{}))},
		"cold air":    {"AIR_MISSING", second(p.TooCold(climate.Air{}))},
		"trace air":   {"AIR_MISSING", second(drying.Trace(p.Kinetics, []drying.Reading{last, {At: after(1)}}))},
		"cycle air":   {"AIR_MISSING", second(drying.CycleOf([]drying.Reading{{At: eight}}, time.UTC))},
		"ahead air":   {"AIR_MISSING", second(c.Ahead(p.Kinetics, drying.Reading{At: eight}, usual, time.Hour))},
		"zero cycle":  {"NO_READINGS", second(c.Ahead(p.Kinetics, last, drying.Cycle{}, time.Hour))},
		"zero curve":  {"NO_READINGS", second(new(drying.Curve).Ahead(p.Kinetics, last, usual, time.Hour))},
		"forecast 0":  {"NO_READINGS", second(p.Forecast(&drying.Curve{}, coat))},
		"no curve":    {"NO_READINGS", second(p.Forecast(nil, coat))},
		"learn of 0":  {"NO_READINGS", second(p.Calibrate(&drying.Curve{}, coat, drying.Outcome{Milestone: drying.TackFree, Reached: after(1)}))},
		"energy":      {"OUT_OF_RANGE", kinetics(func(k *drying.Kinetics) { k.EnergyJMol = -1 })},
		"q10":         {"OUT_OF_RANGE", kinetics(func(k *drying.Kinetics) { k.Q10 = 0.5 })},
		"two laws":    {"TWO_LAWS", kinetics(func(k *drying.Kinetics) { k.Q10, k.EnergyJMol = 2, 50_000 })},
		"no readings": {"NO_READINGS", second(drying.Trace(p.Kinetics, nil))},
		"no cycle":    {"NO_READINGS", second(drying.CycleOf(nil, time.UTC))},
		"trace":       {"CARRIER_UNKNOWN", second(drying.Trace(drying.Kinetics{}, []drying.Reading{last}))},
		"ahead":       {"OUT_OF_RANGE", second(c.Ahead(p.Kinetics, last, usual, -time.Hour))},
		"ahead by":    {"CARRIER_UNKNOWN", second(c.Ahead(drying.Kinetics{}, last, usual, time.Hour))},
		"film 0":      {"OUT_OF_RANGE", product(func(p *drying.Product) { p.FilmUm = 0 })},
		"exponent":    {"OUT_OF_RANGE", product(func(p *drying.Product) { p.FilmExponent = nan })},
		"factor":      {"OUT_OF_RANGE", product(func(p *drying.Product) { p.Factor.LogMean = nan })},
		"belief":      {"OUT_OF_RANGE", product(func(p *drying.Product) { p.Factor.LogStdDev = -1 })},
		"no times":    {"NOT_STATED", product(func(p *drying.Product) { *p = drying.Product{Kinetics: p.Kinetics, FilmUm: 100} })},
		"negative":    {"OUT_OF_RANGE", product(func(p *drying.Product) { p.Stated[drying.TackFree] = -time.Hour })},
		"backwards":   {"STATED_OUT_OF_ORDER", product(func(p *drying.Product) { p.Stated[drying.Cured] = time.Hour })},
		"wet film":    {"OUT_OF_RANGE", second(p.Forecast(c, drying.Coat{At: eight, FilmUm: -1}))},
		"not stated":  {"NOT_STATED", second(p.Calibrate(c, coat, drying.Outcome{Milestone: drying.DryToSand, Reached: after(1)}))},
		"unknown":     {"NOT_STATED", second(p.Calibrate(c, coat, drying.Outcome{Milestone: 99, Reached: after(1)}))},
		"empty":       {"OUTCOME_EMPTY", second(p.Calibrate(c, coat, drying.Outcome{Milestone: drying.TackFree}))},
		"reversed":    {"OUTCOME_BACKWARDS", second(p.Calibrate(c, coat, drying.Outcome{Milestone: drying.TackFree, NotYet: after(2), Reached: after(1)}))},
		"before":      {"OUTCOME_BACKWARDS", second(p.Calibrate(c, coat, drying.Outcome{Milestone: drying.TackFree, Reached: after(-1)}))},
		"impossible":  {"OUTCOME_IMPOSSIBLE", second(p.Calibrate(c, coat, drying.Outcome{Milestone: drying.TackFree, NotYet: after(2000)}))},
	} {
		if !fault.Is(x.err, x.reason) {
			t.Errorf("%s = %v, want %s", name, x.err, x.reason)
		}
	}
}

// Ten thousand films in one room after one more reading: one curve, and a search for each.
func BenchmarkForecast_TenThousandFilms(b *testing.B) {
	p := shellac()
	readings := days(b)
	usual, err := drying.CycleOf(readings, time.UTC)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		c, err := drying.Trace(p.Kinetics, readings)
		if err != nil {
			b.Fatal(err)
		}
		ahead, err := c.Ahead(p.Kinetics, readings[len(readings)-1], usual, 14*24*time.Hour)
		if err != nil {
			b.Fatal(err)
		}
		for i := range 10_000 {
			if _, err := p.Forecast(ahead, drying.Coat{At: after(float64(i) / 150), FilmUm: float64(80 + i%60)}); err != nil {
				b.Fatal(err)
			}
		}
	}
}
