package coating_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/coating"
	"tackfree/pkg/fault"
)

// A painting estimating guide's table: ft²/US gal at dry films of 1, 2, 3 and 4 mil, in
// whole feet.
func TestSpreadingRate_EstimatingGuide(t *testing.T) {
	for solids, row := range map[float64][4]float64{
		30: {481, 241, 160, 120}, 35: {561, 281, 187, 140}, 40: {642, 321, 214, 160}, 45: {722, 361, 241, 180}, 50: {802, 401, 267, 201},
		60: {962, 481, 321, 241}, 70: {1123, 561, 374, 281}, 80: {1283, 642, 428, 321}, 90: {1444, 722, 481, 361}, 100: {1604, 802, 535, 401},
	} {
		for i, want := range row {
			got := must[float64](t)(coating.SpreadingRate(solids, float64(i+1)*mil))
			near(t, fmt.Sprintf("%v %% at %d mil", solids, i+1), got/ft2PerGallon, want, 0.6)
		}
	}
}

// A spreading-rate bulletin of the coating industry (65 %), an estimating guide (35 %), a
// consultant's answer of 2008 (52 %); the last three are arithmetic on the definitions.
func TestFilms_WorkedExamples(t *testing.T) {
	for _, c := range []struct{ solids, dry, rate, wet float64 }{
		{65, 5 * mil, 208.52 * ft2PerGallon, 7.692 * mil}, {65, 125, 5.2, 192.3}, {35, 2 * mil, 280.7 * ft2PerGallon, 5.714 * mil},
		{52, 1.5 * mil, 194.6 / 0.35 * ft2PerGallon, 2.885 * mil}, {25, 1 * mil, 9.8425, 4 * mil}, {40, 1.5 * mil, 10.4987, 3.75 * mil}, {45, 1.2 * mil, 14.7638, 2.667 * mil},
	} {
		what := fmt.Sprintf("%v %% at %.1f µm", c.solids, c.dry)
		near(t, "rate of "+what, must[float64](t)(coating.SpreadingRate(c.solids, c.dry)), c.rate, 0.0003*c.rate)
		wet := must[float64](t)(coating.WetFilm(c.dry, c.solids, 0))
		near(t, "wet film of "+what, wet, c.wet, 0.0003*c.wet)
		near(t, "dry film of it", must[float64](t)(coating.DryFilm(wet, c.solids, 0)), c.dry, 1e-9)
	}
	near(t, "35 % thinned by a tenth", must[float64](t)(coating.Thinned(35, 10)), 31.82, 0.005) // an estimating guide
	near(t, "2.8 mil of 35 %", must[float64](t)(coating.WetFilm(2.8*mil, 35, 0)), 8*mil, 1e-9)  // the same guide
}

func TestCoatsFor(t *testing.T) {
	for _, c := range []struct {
		wanted, each float64
		want         int
	}{{100, 40, 3}, {100, 50, 2}, {0.3, 0.1, 3}, {10, 40, 1}} {
		if got, err := coating.CoatsFor(c.wanted, c.each); err != nil || got != c.want {
			t.Errorf("CoatsFor(%v, %v) = %d, %v, want %d", c.wanted, c.each, got, err, c.want)
		}
	}
}

func job() coating.Job {
	return coating.Job{AreaM2: 36 * ft2, Coats: 3, DryFilmUm: 1.5 * mil, SolidsPercent: 40, TransferPercent: 65}
}

// 36 ft², three coats of 40 % solids at 1.5 mil: 0.3884 gal = 49.71 fl oz = 1.4703 L at a
// transfer of 65 %, 0.2658 gal at 95 %; by hand from 1604 × solids ÷ mil.
func TestJob_Need_ByHand(t *testing.T) {
	j := job()
	n := must[coating.Need](t)(j.Need())
	near(t, "litres", n.Litres, 1.4703, 0.00005)
	near(t, "gallons", n.Litres/gallon, 0.3884, 0.00005)
	near(t, "fluid ounces", must[float64](t)(coating.FluidOunces(n.Litres)), 49.71, 0.01)
	near(t, "spreading rate", n.SpreadingRate, 10.4987, 0.00005)
	near(t, "wet film", n.WetFilmUm, 3.75*mil, 1e-9)
	j.TransferPercent = 95
	near(t, "gallons by brush", must[coating.Need](t)(j.Need()).Litres/gallon, 0.2658, 0.00005)
	// A coatings bulletin of 2014: 1400 ft² at 80 mil of 100 % solids take 70 gal.
	j = coating.Job{AreaM2: 1400 * ft2, Coats: 1, DryFilmUm: 80 * mil, SolidsPercent: 100, TransferPercent: 100}
	near(t, "gallons of 80 mil", must[coating.Need](t)(j.Need()).Litres/gallon, 70, 0.2)
}

// What is used is on the piece, in the air or in the hose; two halves of an area need what
// the whole does; a loss at each set-up comes on top.
func TestJob_Need_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := coating.Job{AreaM2: rapid.Float64Range(0.01, 50).Draw(t, "area"), Coats: rapid.IntRange(1, 9).Draw(t, "coats"),
			DryFilmUm: rapid.Float64Range(5, 300).Draw(t, "film"), SolidsPercent: rapid.Float64Range(5, 100).Draw(t, "solids"),
			ThinningPercent: rapid.Float64Range(0, 50).Draw(t, "thinning"), TransferPercent: rapid.Float64Range(20, 100).Draw(t, "transfer"),
			SetUps: rapid.IntRange(0, 5).Draw(t, "set-ups"), LossPerSetUpLitres: rapid.Float64Range(0, 0.2).Draw(t, "loss")}
		n, err := j.Need()
		if err != nil {
			t.Fatal(err)
		}
		dry := (n.Litres - n.LossLitres - n.OversprayLitres) * j.SolidsPercent / 100 * 1e9
		if on := j.AreaM2 * 1e6 * j.DryFilmUm * float64(j.Coats); math.Abs(dry-on) > 1e-6*on {
			t.Fatalf("%v µm mm² of solids are on the piece, want %v", dry, on)
		}
		half := j
		half.AreaM2, half.SetUps = j.AreaM2/2, 0
		h, err := half.Need()
		if err != nil || math.Abs(2*h.Litres+n.LossLitres-n.Litres) > 1e-9*n.Litres {
			t.Fatalf("half needs %v, %v; the whole %v", h.Litres, err, n.Litres)
		}
	})
}

func TestMethod_TransferEfficiency(t *testing.T) {
	for _, m := range []coating.Method{coating.Brush, coating.Roller, coating.Wipe, coating.Dip, coating.AirSpray, coating.Airless, coating.AirAssistedAirless, coating.HVLP} {
		if share, err := m.TransferEfficiency(); err != nil || share <= 0 || share > 100 {
			t.Errorf("%s = %v, %v", m, share, err)
		}
	}
	near(t, "HVLP (Utah R307-343-5)", must[float64](t)(coating.HVLP.TransferEfficiency()), 65, 0)
	if _, err := coating.Method("bucket").TransferEfficiency(); !fault.Is(err, "METHOD_UNKNOWN") {
		t.Errorf("bucket = %v, want METHOD_UNKNOWN", err)
	}
}

func TestFilms_Refuse(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	refused := map[string]error{
		"solids 0": second(coating.SpreadingRate(0, 40)), "solids NaN": second(coating.SpreadingRate(nan, 40)), "solids 101": second(coating.Thinned(101, 0)),
		"film 0": second(coating.SpreadingRate(40, 0)), "film infinite": second(coating.WetFilm(inf, 40, 0)), "wet film below 0": second(coating.DryFilm(-1, 40, 0)),
		"thinning": second(coating.WetFilm(40, 40, -1)), "thinning back": second(coating.DryFilm(40, 40, nan)), "no film wanted": second(coating.CoatsFor(0, 40)),
		"no film of a coat": second(coating.CoatsFor(40, 0)), "a thousand coats": second(coating.CoatsFor(1000, 0.5)), "ounces": second(coating.FluidOunces(nan)),
		"grams": second(coating.Grams(-1, 1000)), "grams of nothing": second(coating.Grams(1, 0)),
	}
	for name, change := range map[string]func(*coating.Job){
		"area": func(j *coating.Job) { j.AreaM2 = 0 }, "coats": func(j *coating.Job) { j.Coats = 0 }, "film": func(j *coating.Job) { j.DryFilmUm = nan },
		"solids": func(j *coating.Job) { j.SolidsPercent = -4 }, "job thinning": func(j *coating.Job) { j.ThinningPercent = inf },
		"transfer": func(j *coating.Job) { j.TransferPercent = 0 }, "set-ups": func(j *coating.Job) { j.SetUps = -1 }, "loss": func(j *coating.Job) { j.LossPerSetUpLitres = -1 },
	} {
		j := job()
		change(&j)
		n, err := j.Need()
		refused["job: "+name] = err
		if n != (coating.Need{}) {
			t.Errorf("job: %s gives %v beside its fault", name, n)
		}
	}
	for name, err := range refused {
		if f := fault.Of(err); f == nil || f.Reason != "OUT_OF_RANGE" || f.Fields[0].Path == "" {
			t.Errorf("%s = %v, want OUT_OF_RANGE that names the argument", name, err)
		}
	}
}
