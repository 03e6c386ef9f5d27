package estimate_test

import (
	"math"
	"testing"

	"tackfree/pkg/estimate"
	"tackfree/pkg/fault"
)

// tester is a *testing.T or *rapid.T.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
	Fatal(args ...any)
}

func near(t tester, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %v, want %v ± %v", what, got, want, within)
	}
}

func quantile(t testing.TB, l estimate.LogNormal, p float64) float64 {
	t.Helper()
	q, err := l.Quantile(p)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// NIST/SEMATECH e-Handbook, section 1.3.6.6.9, has the formulas; the figures were computed
// from them elsewhere.
func TestLogNormal(t *testing.T) {
	l := estimate.LogNormal{Mu: math.Log(2), Sigma: 0.5}
	near(t, "mean", l.Mean(), 2.2663, 5e-5)
	near(t, "standard deviation", l.StdDev(), 1.2078, 5e-5)
	near(t, "mode", l.Mode(), 1.5576, 5e-5)
	near(t, "median", l.Median(), 2, 1e-12)
	for p, want := range map[float64]float64{0.8: 3.0464, 0.9: 3.7959, 0.95: 4.5520, 0.5: 2} {
		near(t, "quantile", quantile(t, l, p), want, 5e-5)
	}
	m, err := estimate.FromMean(4, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mu", m.Mu, 1.27472, 1e-5)
	near(t, "sigma", m.Sigma, 0.47238, 1e-5)
	near(t, "median", m.Median(), 3.5777, 5e-5)
	q, err := estimate.FromQuantiles(4, 8)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sigma of P50 4, P90 8", q.Sigma, 0.54087, 1e-5)
	near(t, "mean of P50 4, P90 8", q.Mean(), 4.6300, 5e-5)
}

// Malcolm, Roseboom, Clark and Fazar (1959); arithmetic on their formula.
func TestPERT(t *testing.T) {
	for _, c := range []struct{ best, likely, worst, mean, stdDev float64 }{{2, 4, 12, 5, 1.6667}, {3, 5, 7, 5, 0.6667}, {1, 2, 9, 3, 1.3333}} {
		mean, stdDev, err := estimate.PERT(c.best, c.likely, c.worst)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "mean", mean, c.mean, 5e-5)
		near(t, "standard deviation", stdDev, c.stdDev, 5e-5)
	}
}

// By hand: prior 5 with variance 1, four observations of variance 4 with mean 7.
func TestNormal_Posterior(t *testing.T) {
	got, err := estimate.Normal{Mean: 5, Variance: 1}.Posterior(7, 4, 4)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", got.Mean, 6, 1e-12)
	near(t, "variance", got.Variance, 0.5, 1e-12)
	same, err := estimate.Normal{Mean: 5, Variance: 1}.Posterior(7, 0, 4)
	if err != nil || same != (estimate.Normal{Mean: 5, Variance: 1}) {
		t.Errorf("Posterior of nothing = %v, %v, want the prior", same, err)
	}
}

// Efron and Morris, Journal of the American Statistical Association 70 (1975) and
// Scientific American, May 1977: eighteen batters of 1970, their hits in 45 at-bats, what
// the estimator made of it, and what they did for the rest of the season.
func TestJamesStein_Batters(t *testing.T) {
	hits := []float64{18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7}
	published := []float64{.294, .289, .284, .280, .275, .275, .270, .266, .261, .261, .256, .256, .256, .256, .256, .252, .247, .242}
	season := []float64{.346, .298, .276, .222, .273, .270, .263, .210, .269, .230, .264, .256, .303, .264, .226, .285, .316, .200}
	means, average := make([]float64, len(hits)), 0.0
	for i, h := range hits {
		means[i] = h / 45
		average += h / 45 / float64(len(hits))
	}
	got, err := estimate.JamesStein(means, average*(1-average)/45)
	if err != nil {
		t.Fatal(err)
	}
	var raw, drawn float64
	for i := range got {
		near(t, "batter", got[i], published[i], 0.0006)
		raw += (means[i] - season[i]) * (means[i] - season[i])
		drawn += (got[i] - season[i]) * (got[i] - season[i])
	}
	near(t, "squared error of the averages", raw, 0.075317, 5e-6)
	near(t, "squared error of the estimator", drawn, 0.021307, 5e-6)
}

func TestRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	var h estimate.History
	if err := h.Define("sand", estimate.Default{MinutesPerUnit: 10, Exponent: 1}); err != nil {
		t.Fatal(err)
	}
	good := estimate.LogNormal{Mu: 3, Sigma: 0.5}
	_, _, pert := estimate.PERT(3, 2, 5)
	_, _, worst := estimate.PERT(1, 2, nan)
	_, _, best := estimate.PERT(-1, 2, 3)
	for name, err := range map[string]error{
		"mean": second(estimate.FromMean(0, 1)), "variation": second(estimate.FromMean(1, nan)), "median": second(estimate.FromQuantiles(-1, 2)),
		"ninetieth": second(estimate.FromQuantiles(3, 2)), "too wide": second(estimate.FromQuantiles(1, 1000)), "share 0": second(good.Quantile(0)), "share 1": second(good.Quantile(1)), "share": second(good.Quantile(nan)),
		"likely": pert, "worst": worst, "best": best,
		"prior": second(estimate.Normal{Variance: 0}.Posterior(1, 1, 1)), "observations": second(estimate.Normal{Variance: 1}.Posterior(1, 1, -1)), "data": second(estimate.Normal{Variance: 1}.Posterior(inf, 1, 1)),
		"number": second(estimate.Normal{Variance: 1}.Posterior(1, -1, 1)), "their variance": second(estimate.JamesStein([]float64{1, 2, 3, 4}, 0)), "a mean": second(estimate.JamesStein([]float64{1, 2, 3, nan}, 1)),
		"default": h.Define("strip", estimate.Default{}), "exponent": h.Define("strip", estimate.Default{MinutesPerUnit: 1, Exponent: nan}),
		"size": h.Observe("sand", "Nell", 0, 10), "minutes": h.Observe("sand", "Nell", 1, inf), "size asked": second(h.Forecast("sand", "", nan)),
		"task": second(estimate.Sum(good, estimate.LogNormal{Mu: nan})), "task's spread": second(estimate.Sum(estimate.LogNormal{Sigma: -1})),
	} {
		if f := fault.Of(err); f == nil || f.Reason != "OUT_OF_RANGE" || f.Fields[0].Path == "" {
			t.Errorf("%s = %v, want OUT_OF_RANGE that names the argument", name, err)
		}
	}
	for reason, err := range map[string]error{
		"TOO_FEW": second(estimate.JamesStein([]float64{1, 2, 3}, 1)), "NOTHING_TO_SUM": second(estimate.Sum()), "KIND_UNKNOWN": h.Observe("polish", "Nell", 1, 1),
	} {
		if !fault.Is(err, reason) {
			t.Errorf("%v, want %s", err, reason)
		}
	}
}

func second[T any](_ T, err error) error { return err }
