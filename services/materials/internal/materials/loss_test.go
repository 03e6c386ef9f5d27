package materials_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/estimate"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
)

// coats are stages that took so much for each litre that was planned.
func coats(of materials.Applied, ratios ...float64) (out []materials.Taken) {
	for _, r := range ratios {
		out = append(out, materials.Taken{Applied: of, Planned: planned("1"), Actual: planned(fmt.Sprintf("%.6f", r))})
	}
	return out
}

func learned(t testing.TB, b materials.Beliefs, taken ...materials.Taken) map[materials.Applied]materials.Usage {
	t.Helper()
	got, err := b.Learn(taken)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// alike compares to a hundredth of a percent: amounts have six decimals.
func alike(a, b float64) bool { return math.Abs(a-b) <= 1e-4*math.Abs(b) }

// Prior 5 with variance 1, data of variance 4 with mean 7 of 4: weight 0.5, mean 6, variance 0.5;
// the standard formula of the conjugate normal model, computed by hand. It is checked a tenth as
// large, for ratios stop at ten, and with a method of which all is known.
func TestBeliefs_Learn_NormalCheck(t *testing.T) {
	b := materials.Beliefs{Method: estimate.Normal{Mean: 0.5, Variance: 1e-12}, Products: 0.01, Chance: 0.04}
	of := materials.Applied{Product: id.New(), Method: "brush"}
	x := math.Exp(0.7)
	f := learned(t, b, coats(of, x, x, x, x)...)[of].Factor
	aside := 1.645 * math.Sqrt(0.005)
	if !alike(f.Value, math.Exp(0.6)) || !alike(f.Low, math.Exp(0.6-aside)) || !alike(f.High, math.Exp(0.6+aside)) {
		t.Errorf("factor = %+v, want e^0.6 with variance 0.005", f)
	}
}

// By hand, of the usual beliefs. One coat that took half as much again, y = 0.4055: the product's
// mean is off by 0.04 + 0.09, so the method is drawn by 0.09 / 0.22 to 0.1659, and the product from
// there by 0.04 / 0.13 to 0.2396: 1.271. What is then believed of it has the variance
// 0.0277 + (0.0277 / 0.04)² × 0.0532 = 0.0532. Another product of the method is taken for 1.18.
func TestBeliefs_Learn_FromOneCoat(t *testing.T) {
	of := materials.Applied{Product: id.New(), Method: "hvlp"}
	got := learned(t, materials.Usual, coats(of, 1.5)...)
	f := got[of].Factor
	if math.Abs(f.Value-1.271) > 0.001 || math.Abs(math.Log(f.High/f.Value)-1.645*math.Sqrt(0.0532)) > 0.001 {
		t.Errorf("factor = %+v, want 1.271 and a variance of 0.0532", f)
	}
	if f := got[materials.Applied{Method: "hvlp"}].Factor.Value; math.Abs(f-1.180) > 0.001 {
		t.Errorf("any other product by hvlp = %v, want 1.18", f)
	}
	if _, known := got[materials.Applied{Method: "brush"}]; known {
		t.Error("it tells of a brush")
	}
	if u := got[of]; u.Stages != 1 || u.LeftOut != 0 || !alike(u.Ratio(), 1.5) {
		t.Errorf("usage = %+v", u)
	}
}

// By hand: a product whose four coats took 1.5 each is off by 0.04 + 0.09 / 4 = 0.0625, so that
// the method is drawn by 0.09 / 0.1525 to 0.2393; the other's only coat, which went by the sheet,
// draws it back by 0.0369 / 0.1669 to 0.1864; and the first is drawn from there by 0.04 / 0.0625 to
// 0.3266: 1.386.
func TestBeliefs_Learn_ProductsOfAMethod(t *testing.T) {
	of, other := materials.Applied{Product: id.New(), Method: "hvlp"}, materials.Applied{Product: id.New(), Method: "hvlp"}
	got := learned(t, materials.Usual, append(coats(of, 1.5, 1.5, 1.5, 1.5), coats(other, 1)...)...)
	if f := got[of].Factor.Value; math.Abs(f-1.386) > 0.001 {
		t.Errorf("factor = %v, want 1.386", f)
	}
	if f := got[other].Factor.Value; math.Abs(f-math.Exp(0.1864*0.09/0.13)) > 0.001 {
		t.Errorf("of the other = %v, want e^0.129", f)
	}
}

// With ever more coats a product is taken for what it took, and doubt falls.
func TestBeliefs_Learn_ManyCoatsSayItAll(t *testing.T) {
	of := materials.Applied{Product: id.New(), Method: "brush"}
	var ratios []float64
	last := materials.Factor{Low: 0.1, High: 10}
	for n := 1; n <= 400; n++ {
		ratios = append(ratios, 1.4)
		f := learned(t, materials.Usual, coats(of, ratios...)...)[of].Factor
		if f.High/f.Low > last.High/last.Low {
			t.Fatalf("after %d coats it is surer than after %d", n-1, n)
		}
		last = f
	}
	if math.Abs(last.Value-1.4) > 0.01 || last.Low < 1.35 || last.High > 1.45 {
		t.Errorf("after 400 coats = %+v, want 1.4", last)
	}
}

// A can booked on one stage for many teaches nothing, and is counted as left out.
func TestBeliefs_Learn_LeavesOutWhatIsFarOff(t *testing.T) {
	of := materials.Applied{Product: id.New(), Method: "brush"}
	got := learned(t, materials.Usual, coats(of, 10.01, 0.0999, 10, 1.2)...)[of]
	if got.Stages != 2 || got.LeftOut != 2 || got.Planned.String() != "2" || got.Actual.String() != "11.2" {
		t.Errorf("usage = %+v, want two that count and two left out", got)
	}
	only := learned(t, materials.Usual, coats(of, 50)...)[of]
	if only.Factor.Value != 1 || only.Ratio() != 0 {
		t.Errorf("of nothing but those = %+v, want 1", only)
	}
}

// A factor lies between what the sheet says and the most extreme stage.
func TestBeliefs_Learn_Bounds(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var all []materials.Taken
		low, high := 1., 1.
		for n := range rapid.IntRange(1, 4).Draw(r, "products") {
			of := materials.Applied{Product: id.New(), Method: []string{"brush", "hvlp"}[n%2]}
			ratios := rapid.SliceOfN(rapid.Float64Range(0.11, 9.9), 1, 5).Draw(r, "ratios")
			for _, x := range ratios {
				low, high = min(low, x), max(high, x)
			}
			all = append(all, coats(of, ratios...)...)
		}
		got, err := materials.Usual.Learn(all)
		if err != nil {
			r.Fatal(err)
		}
		for of, u := range got {
			if u.Factor.Value < low-1e-5 || u.Factor.Value > high+1e-5 || u.Factor.Low > u.Factor.Value || u.Factor.High < u.Factor.Value {
				r.Fatalf("%v = %+v, of stages from %v to %v", of, u.Factor, low, high)
			}
		}
	})
}
