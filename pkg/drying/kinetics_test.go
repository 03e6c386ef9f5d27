package drying_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"tackfree/pkg/drying"
)

// Multipliers of a time relative to 23 °C, computed elsewhere from Arrhenius' law with 51
// kJ/mol and from the rule of a factor of two for each 10 °C.
func TestKinetics_Temperature(t *testing.T) {
	for celsius, want := range map[float64][2]float64{
		5: {3.482, 3.820}, 10: {2.462, 2.588}, 15: {1.741, 1.777}, 20: {1.231, 1.236}, 23: {1, 1}, 25: {0.871, 0.870}, 30: {0.616, 0.620}, 35: {0.435, 0.446},
	} {
		for i, k := range []drying.Kinetics{
			{Carrier: drying.TwoPart, ReferenceCelsius: 23, Q10: 2}, {Carrier: drying.TwoPart, ReferenceCelsius: 23, EnergyJMol: 51_000},
		} {
			rate, err := k.Rate(air(t, celsius, 50))
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprintf("time at %v °C, law %d", celsius, i), 1/rate, want[i], 0.0006)
		}
	}
}

// Activation energies that double the rate between two temperatures, computed elsewhere.
func TestKinetics_Doubling(t *testing.T) {
	for _, c := range []struct{ from, to, energy float64 }{{10, 20, 47_840}, {15, 25, 49_510}, {20, 30, 51_220}} {
		k := drying.Kinetics{Carrier: drying.TwoPart, EnergyJMol: c.energy}
		slow, err := k.Rate(air(t, c.from, 50))
		if err != nil {
			t.Fatal(err)
		}
		fast, err := k.Rate(air(t, c.to, 50))
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("from %v to %v °C", c.from, c.to), fast/slow, 2, 0.0005)
	}
}

// Dalton's law: at one temperature water leaves 50 % air 0.5/0.2 times as fast as 80 % air,
// as their vapour pressure deficits say too.
func TestKinetics_Humidity(t *testing.T) {
	rate := func(c drying.Carrier, humidity float64) float64 {
		r, err := drying.Kinetics{Carrier: c}.Rate(air(t, 20, humidity))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	near(t, "water", rate(drying.Water, 50)/rate(drying.Water, 80), 2.5, 1e-12)
	near(t, "by the deficits", air(t, 20, 50).Deficit()/air(t, 20, 80).Deficit(), 2.5, 1e-12)
	if r := rate(drying.Solvent, 50) / rate(drying.Solvent, 80); r < 1 || r > 1.2 {
		t.Errorf("solvent = %v, want a little above 1", r)
	}
	near(t, "two-part", rate(drying.TwoPart, 50), rate(drying.TwoPart, 80), 0)
	near(t, "water in wet air", rate(drying.Water, 100), 0, 0)
}

// Damp air slows what dries by solvent or by oxygen a little and without a jump, up to
// saturation; only water stops there.
func TestKinetics_Humidity_NoJump(t *testing.T) {
	for _, carrier := range []drying.Carrier{drying.Water, drying.Solvent, drying.Oil, drying.TwoPart} {
		rate := func(humidity float64) float64 {
			r, err := drying.Kinetics{Carrier: carrier}.Rate(air(t, 25, humidity))
			if err != nil {
				t.Fatal(err)
			}
			return r
		}
		for h := 1.0; h < 100; h++ {
			if before, after := rate(h), rate(h+1); after > before || before-after > 0.0201 {
				t.Errorf("%s: the rate goes from %v at %v %% to %v", carrier, before, h, after)
			}
		}
		if dry, wet := rate(50), rate(100); carrier == drying.Water && wet != 0 || carrier != drying.Water && wet < dry/2 {
			t.Errorf("%s: the rate in saturated air is %v, of %v at 50 %%", carrier, wet, dry)
		}
	}
}

// Below the lowest temperature the law does not go on without end: a film slows down to next
// to nothing, water stops at freezing, and the rate is not to be relied upon.
func TestKinetics_Cold(t *testing.T) {
	for _, c := range []struct {
		carrier       drying.Carrier
		lowest, air   float64
		least, most   float64
		unreliable    bool
		lowestForReal float64
	}{
		{drying.TwoPart, 0, 5, 0.2, 0.3, false, 4.4}, {drying.TwoPart, 0, 4.4, 0.2, 0.3, false, 4.4}, {drying.TwoPart, 0, 3.4, 0.1, 0.13, true, 4.4},
		{drying.TwoPart, 0, -10, 1e-9, 1e-5, true, 4.4}, {drying.TwoPart, -5, -4, 0.05, 0.15, false, -5}, {drying.TwoPart, 10, 5, 0.005, 0.02, true, 10},
		{drying.Water, 0, 0.1, 0.001, 0.02, true, 4.4}, {drying.Water, 0, 0, 0, 0, true, 4.4}, {drying.Water, -5, 0, 0, 0, false, 0}, {drying.Water, -5, -1, 0, 0, true, 0},
		{drying.Solvent, 0, -10, 1e-9, 1e-5, true, 4.4}, {drying.Oil, 0, -40, 0, 1e-9, true, 4.4},
	} {
		k := drying.Kinetics{Carrier: c.carrier, MinCelsius: c.lowest}
		rate, err := k.Rate(air(t, c.air, 50))
		cold, err2 := k.TooCold(air(t, c.air, 50))
		lowest, err3 := k.Lowest()
		if errors.Join(err, err2, err3) != nil || rate < c.least || rate > c.most || cold != c.unreliable || lowest != c.lowestForReal {
			t.Errorf("%s with a lowest of %v at %v °C: rate %v, too cold %t, lowest %v", c.carrier, c.lowest, c.air, rate, cold, lowest)
		}
	}
	p := drying.Product{Kinetics: drying.Kinetics{Carrier: drying.TwoPart, Q10: 2}, FilmUm: 100}
	p.Stated[drying.DryToRecoat] = 4 * time.Hour
	if w := forecast(t, p, steady(t, p.Kinetics, -10, 50), drying.Coat{At: eight})[drying.DryToRecoat]; !w.Likely.IsZero() && w.Likely.Before(after(1000)) {
		t.Errorf("at −10 °C it is dry to recoat at %v", w.Likely)
	}
}
