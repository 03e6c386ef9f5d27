package drying_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/drying"
)

var inf = math.Inf(1)

// exact is an interval so short that nothing is censored in it.
func exact(x float64) drying.Interval { return drying.Interval{Low: x - 1e-4, High: x + 1e-4} }

// By hand: the conjugate normal model again, a prior variance of 0.16 and of one job 0.04.
// After n coats at x̄ the variance is 1/(1/0.16 + n/0.04), and the mean x̄ n/0.04 times that.
func TestLearn_AsConjugate(t *testing.T) {
	for _, coats := range [][]float64{{0.3}, {0.3, 0.1}, {0.5, 0.2, -0.1, 0.4}, make([]float64, 300)} {
		var seen [][]drying.Interval
		sum, n := 0.0, float64(len(coats))
		for _, x := range coats {
			seen = append(seen, []drying.Interval{exact(x)})
			sum += x
		}
		variance := 1 / (1/0.16 + n/0.04)
		f := drying.Learn(seen)
		near(t, "mean", f.LogMean, sum/0.04*variance, 1e-4)
		near(t, "spread", f.LogStdDev, math.Sqrt(variance), 1e-4)
		if f.Outcomes != len(coats) {
			t.Errorf("learned from %d coats, want %d", f.Outcomes, len(coats))
		}
	}
}

// One coat is one coat, also if somebody looked at it twelve times; by one look it is what
// Calibrate makes of it.
func TestLearn_ACoatCountsOnce(t *testing.T) {
	p := shellac()
	c := steady(t, p.Kinetics, 25, 50)
	o := drying.Outcome{Milestone: drying.TackFree, NotYet: after(1.2), Reached: after(1.6)}
	stands, err := p.Stands(c, drying.Coat{At: eight}, o)
	if err != nil {
		t.Fatal(err)
	}
	once := calibrate(t, p, c, o)
	var looks []drying.Interval
	for range 12 {
		looks = append(looks, stands)
	}
	if got := drying.Learn([][]drying.Interval{looks}); math.Abs(got.LogMean-once.LogMean) > 1e-12 || math.Abs(got.LogStdDev-once.LogStdDev) > 1e-12 || got.Outcomes != 1 {
		t.Errorf("twelve looks at one coat = %+v, want %+v of one", got, once)
	}
}

// Looks at a coat narrow what is known of it; of two that cannot both be the later holds, and
// what agrees with that still counts.
func TestLearn_LooksAtACoat(t *testing.T) {
	tacky, dry := func(x float64) drying.Interval { return drying.Interval{Low: x, High: inf} }, func(x float64) drying.Interval { return drying.Interval{Low: -inf, High: x} }
	for name, c := range map[string]struct{ looks, want []drying.Interval }{
		"tacky, tacky, dry":        {[]drying.Interval{tacky(0.1), tacky(0.3), dry(0.5)}, []drying.Interval{{Low: 0.3, High: 0.5}}},
		"dry, and tacky after all": {[]drying.Interval{dry(0.1), tacky(0.3)}, []drying.Interval{tacky(0.3)}},
		"a mistake in between":     {[]drying.Interval{tacky(0.1), dry(0), dry(0.4)}, []drying.Interval{{Low: -inf, High: 0}}},
		"corrected, and seen on":   {[]drying.Interval{dry(0.1), tacky(0.3), dry(0.4)}, []drying.Interval{{Low: 0.3, High: 0.4}}},
	} {
		if got, want := drying.Learn([][]drying.Interval{c.looks}), drying.Learn([][]drying.Interval{c.want}); got != want {
			t.Errorf("%s = %+v, want %+v", name, got, want)
		}
	}
}

// What can hardly be is no lesson, nor is what says nothing.
func TestLearn_LeavesOut(t *testing.T) {
	nobody := drying.Learn(nil)
	near(t, "spread before anybody looked", nobody.LogStdDev, 0.4, 0)
	for name, i := range map[string]drying.Interval{"three weeks tacky": {Low: 7, High: inf}, "dry at once": {Low: -inf, High: -inf},
		"not a moment": {Low: 0.1, High: 0.1}, "nothing": {Low: -inf, High: inf}, "no number": {Low: math.NaN(), High: math.NaN()}} {
		if got := drying.Learn([][]drying.Interval{{i}, nil}); got != nobody {
			t.Errorf("%s teaches %+v", name, got)
		}
		if got, want := drying.Learn([][]drying.Interval{{exact(0.2)}, {i}, {exact(0.3)}}), drying.Learn([][]drying.Interval{{exact(0.2)}, {exact(0.3)}}); got != want {
			t.Errorf("with %s it is %+v, want %+v", name, got, want)
		}
	}
}

// By hand, of a product that is as its maker says: the chance of a job beyond what was seen,
// Φ⁻¹(1 − (1 − Φ(a))/2) standard deviations of 0.2; all by normal tables.
func TestProduct_Still(t *testing.T) {
	p := shellac()
	p.Factor = drying.Factor{LogStdDev: 1e-6, Outcomes: 900}
	c := watched(t, p.Kinetics, 25, 50, 4, 200)
	for _, x := range []struct{ hours, above float64 }{ // of a recoat stated at 2.5 h
		{2.5, 0.67449 * 0.2},                 // a = 0: Φ⁻¹(0.75)
		{2.5 * math.Exp(0.2), 1.41022 * 0.2}, // a = 1: Φ⁻¹(0.92067)
		{2.5 * math.Exp(0.6), 3.20516 * 0.2}, // a = 3: Φ⁻¹(0.999325)
		{2.5 * math.Exp(-2), 0},              // a = −10: nothing is known
		{2.5 * math.Exp(1.4), 7.0964 * 0.2},  // a = 7: the tail alone, Φ⁻¹(1 − 6.4e−13)
	} {
		w, err := p.Still(c, drying.Coat{At: eight}, drying.DryToRecoat, after(x.hours))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "log factor", math.Log(w[drying.DryToRecoat].Likely.Sub(eight).Hours()/2.5), x.above, 1e-3)
		if _, there := w[drying.TackFree]; there || len(w) != 2 {
			t.Errorf("not yet recoated tells of %v", w)
		}
	}
	_, err := p.Still(c, drying.Coat{At: eight}, drying.DryToSand, after(1))
	_, err2 := p.Still(c, drying.Coat{At: eight}, drying.TackFree, after(-1))
	_, err3 := p.Still(&drying.Curve{}, drying.Coat{At: eight}, drying.TackFree, after(1))
	if err := errors.Join(err, err2, err3); err == nil || err2 == nil || err3 == nil {
		t.Errorf("Still of what is not stated, was not laid and was not read = %v", err)
	}
}

// Whatever was seen, and when: what follows lies behind it, in order.
func TestProduct_Still_LiesBehindTheSighting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := shellac()
		p.Factor = drying.Factor{LogMean: rapid.Float64Range(-1, 1).Draw(t, "mean"), LogStdDev: rapid.Float64Range(0.01, 0.5).Draw(t, "spread"), Outcomes: 1}
		c, err := drying.Trace(p.Kinetics, weather(t))
		if err != nil {
			t.Fatal(err)
		}
		at := after(rapid.Float64Range(0, 500).Draw(t, "hours")).Truncate(time.Millisecond)
		for _, m := range []drying.Milestone{drying.TackFree, drying.DryToRecoat, drying.Cured} {
			windows, err := p.Still(c, drying.Coat{At: eight}, m, at)
			if err != nil {
				t.Fatal(err)
			}
			for f, w := range windows {
				if !w.Early.After(at) || w.Likely.Before(w.Early) || w.Late.Before(w.Likely) {
					t.Fatalf("not yet %s at %v, and %s at %v", m, at, f, w)
				}
			}
		}
	})
}

func BenchmarkLearn_HundredsOfCoats(b *testing.B) {
	coats := make([][]drying.Interval, 500)
	for i := range coats {
		coats[i] = []drying.Interval{{Low: -0.1, High: inf}, {Low: -inf, High: 0.2}}
	}
	for b.Loop() {
		drying.Learn(coats)
	}
}
