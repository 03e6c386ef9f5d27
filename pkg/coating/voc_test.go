package coating_test

import (
	"math"
	"testing"
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/fault"
)

// A paint consultant's answer of 2004: 8.52 lb/gal, 20.8 % solids, 53.0 % water give 2.232
// lb/gal, 4.87 less water.
func TestFormula_VOC(t *testing.T) {
	v := must[coating.VOC](t)(coating.Formula{DensityGL: 8.52 * lbGal, SolidsPercent: 20.8, WaterPercent: 53}.VOC())
	near(t, "actual", v.Actual/lbGal, 2.232, 0.0005)
	near(t, "less water", v.LessWater/lbGal, 4.8748, 0.001)
	solvent := must[coating.VOC](t)(coating.Formula{DensityGL: 900, SolidsPercent: 40}.VOC())
	near(t, "without water", solvent.LessWater, solvent.Actual, 1e-12)
	near(t, "by mass", solvent.Actual, 540, 1e-9)
	exempt := must[coating.VOC](t)(coating.Formula{DensityGL: 1000, SolidsPercent: 40, ExemptPercent: 20, ExemptDensityGL: 800}.VOC())
	near(t, "with exempt compounds", exempt.LessWater, 400/(1-0.25), 1e-9)
}

// A metal finishing guidebook: 3 parts at 3.1 lb/gal, 1 at 1.8 and 7 of water make 11.1/11
// lb/gal, 11.1/4 less water (it prints 2.75 for 2.775).
func TestBlend(t *testing.T) {
	v := must[coating.VOC](t)(coating.Blend(coating.Part{Litres: 3, VOC: 3.1 * lbGal}, coating.Part{Litres: 1, VOC: 1.8 * lbGal}, coating.Part{Litres: 7, WaterLitres: 7}))
	near(t, "actual", v.Actual/lbGal, 1.009, 0.0005)
	near(t, "less water", v.LessWater/lbGal, 2.775, 1e-9)
	if _, err := coating.Blend(coating.Part{Litres: 7, WaterLitres: 7}); !fault.Is(err, "BLEND_OF_NOTHING") {
		t.Errorf("water alone = %v, want BLEND_OF_NOTHING", err)
	}
}

// Texas, 30 TAC 115.423: 3.5 lb/gal are 6.674 lb for each gallon of solids.
func TestPerSolids(t *testing.T) {
	near(t, "per solids", must[float64](t)(coating.PerSolids(3.5*lbGal, 7.36*lbGal))/lbGal, 6.674, 0.0005)
}

func TestEmission(t *testing.T) {
	near(t, "of 2.5 L at 450 g/L", must[float64](t)(coating.Emission(2.5, 450)), 1125, 1e-9)
}

// Arithmetic: 4 parts and 1; by mass 100 to 10 of densities 1250 and 1000 are 80 to 10.
func TestRatio(t *testing.T) {
	a, b, err := coating.Ratio{A: 4, B: 1}.Split(0.5)
	if err != nil || math.Abs(a-0.4) > 1e-12 || math.Abs(b-0.1) > 1e-12 {
		t.Errorf("Split = %v, %v, %v, want 0.4, 0.1", a, b, err)
	}
	r := must[coating.Ratio](t)(coating.ByMass(100, 10, 1250, 1000))
	near(t, "by volume", r.A/r.B, 8, 1e-12)
}

// Common practice: half the time for each 10 °C more. 3 L at 1 L/h with an hour and a half
// of pot life are two batches.
func TestPotLife(t *testing.T) {
	for celsius, want := range map[float64]time.Duration{20: 2 * time.Hour, 30: time.Hour, 10: 4 * time.Hour} {
		if got, err := coating.PotLife(2*time.Hour, 20, celsius); err != nil || got != want {
			t.Errorf("at %v °C = %v, %v, want %v", celsius, got, err, want)
		}
	}
	if n, err := coating.Batches(3, 1, 90*time.Minute); err != nil || n != 2 {
		t.Errorf("Batches = %d, %v, want 2", n, err)
	}
	if n, err := coating.Batches(3.1, 1, 90*time.Minute); err != nil || n != 3 {
		t.Errorf("Batches of a little more = %d, %v, want 3", n, err)
	}
}

func TestSheets(t *testing.T) {
	if n, err := coating.Sheets(3, 2, 0.6); err != nil || n != 10 {
		t.Errorf("Sheets = %d, %v, want 10", n, err)
	}
	if n, err := coating.Sheets(0.1, 1, coating.DefaultSheetM2); err != nil || n != 1 {
		t.Errorf("Sheets of a little = %d, %v, want 1", n, err)
	}
	near(t, "half a litre at 1.2 kg/L", must[float64](t)(coating.Grams(0.5, 1200)), 600, 1e-9)
}

func TestVOCAndMixes_Refuse(t *testing.T) {
	nan := math.NaN()
	f := coating.Formula{DensityGL: 1000, SolidsPercent: 40, WaterPercent: 30}
	formula := func(change func(*coating.Formula)) error {
		g := f
		change(&g)
		return second(g.VOC())
	}
	_, _, noVolume := coating.Ratio{A: 1, B: 1}.Split(0)
	_, _, noParts := coating.Ratio{A: 1}.Split(1)
	for name, err := range map[string]error{
		"density": formula(func(f *coating.Formula) { f.DensityGL = 0 }), "solids": formula(func(f *coating.Formula) { f.SolidsPercent = nan }),
		"water": formula(func(f *coating.Formula) { f.WaterPercent = -1 }), "together": formula(func(f *coating.Formula) { f.WaterPercent = 70 }),
		"exempt": formula(func(f *coating.Formula) { f.ExemptPercent = nan }), "density of exempt": formula(func(f *coating.Formula) { f.ExemptPercent = 10 }),
		"only water": second(coating.Formula{DensityGL: 1000, WaterPercent: 100}.VOC()), "per solids": second(coating.PerSolids(900, 880)),
		"density of VOC": second(coating.PerSolids(100, 0)), "emission": second(coating.Emission(-1, 400)), "emission of": second(coating.Emission(1, nan)),
		"part": second(coating.Blend(coating.Part{Litres: -1})), "part's VOC": second(coating.Blend(coating.Part{Litres: 1, VOC: nan})), "part's water": second(coating.Blend(coating.Part{Litres: 1, WaterLitres: 2})),
		"no volume": noVolume, "no parts": noParts, "by mass": second(coating.ByMass(0, 1, 1000, 1000)), "density A": second(coating.ByMass(1, 1, 0, 1000)), "density B": second(coating.ByMass(1, 1, 1000, nan)),
		"pot life": second(coating.PotLife(0, 20, 20)), "stated at": second(coating.PotLife(time.Hour, nan, 20)), "used at": second(coating.PotLife(time.Hour, 20, 99)),
		"batches of nothing": second(coating.Batches(0, 1, time.Hour)), "pace": second(coating.Batches(1, 0, time.Hour)), "no pot life": second(coating.Batches(1, 1, 0)), "batches": second(coating.Batches(1000, 0.001, time.Hour)),
		"sheets": second(coating.Sheets(0, 1, 1)), "passes": second(coating.Sheets(1, 0, 1)), "sheet": second(coating.Sheets(1, 1, 0)),
	} {
		if f := fault.Of(err); f == nil || f.Reason != "OUT_OF_RANGE" || f.Fields[0].Path == "" {
			t.Errorf("%s = %v, want OUT_OF_RANGE that names the argument", name, err)
		}
	}
}
