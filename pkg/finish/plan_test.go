package finish_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

func product(f finish.Family) *finish.Product {
	return &finish.Product{Name: string(f), Family: f, Recoat: 4 * time.Hour, Cure: 72 * time.Hour}
}

func light(f finish.Family) *finish.Product {
	p := product(f)
	p.Light = true
	return p
}

func plan(t *testing.T, a finish.Assessment, w finish.Wanted, p finish.Palette) []finish.Step {
	t.Helper()
	steps, err := finish.PlanPart(a, w, p)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range steps {
		if s.Why == "" {
			t.Errorf("%s says not why", s.Kind)
		}
	}
	return steps
}

func kinds(steps []finish.Step) (all []finish.Kind) {
	for _, s := range steps {
		all = append(all, s.Kind)
	}
	return all
}

func inOrder(steps []finish.Step, want ...finish.Kind) bool {
	i := 0
	for _, k := range kinds(steps) {
		if i < len(want) && k == want[i] {
			i++
		}
	}
	return i == len(want)
}

// What the trade's rules ask for is put in where it was forgotten.
func TestPlanPart_PutsInWhatWasForgotten(t *testing.T) {
	modern := finish.Assessment{Material: finish.SolidWood, Species: "maple", OldFinish: finish.NitroLacquer, PaintedIn: 1995}
	old := modern
	old.PaintedIn = 0
	oak := finish.Assessment{Material: finish.SolidWood, Species: "oak"}
	for name, c := range map[string]struct {
		a    finish.Assessment
		w    finish.Wanted
		p    finish.Palette
		want []finish.Kind
		not  []finish.Kind
	}{
		"StainOverLacquer": {modern, finish.Wanted{Look: finish.Stained, Topcoats: 2}, finish.Palette{Stain: product(finish.OilVarnish), Topcoat: product(finish.OilVarnish)},
			[]finish.Kind{finish.Clean, finish.Strip, finish.WashOff, finish.DryOut, finish.Sand, finish.DustOff, finish.StainCoat, finish.TopcoatCoat, finish.ScuffSand, finish.DustOff, finish.TopcoatCoat, finish.Cure, finish.HardwareOn},
			[]finish.Kind{finish.LeadTest, finish.RaiseGrain}},
		"AgeUnknown": {old, finish.Wanted{Look: finish.Stained}, finish.Palette{Stain: product(finish.OilVarnish)},
			[]finish.Kind{finish.LeadTest, finish.Strip, finish.StainCoat}, nil},
		"PaintOverOldFilm": {modern, finish.Wanted{Look: finish.Painted}, finish.Palette{Paint: light(finish.WaterAcrylic)},
			[]finish.Kind{finish.Clean, finish.ScuffSand, finish.DustOff, finish.PaintCoat, finish.ScuffSand, finish.DustOff, finish.PaintCoat}, []finish.Kind{finish.Strip, finish.BlockStains}},
		"LightPaintOnOak": {oak, finish.Wanted{Look: finish.Painted}, finish.Palette{Paint: light(finish.WaterAcrylic)},
			[]finish.Kind{finish.Clean, finish.Sand, finish.BlockStains, finish.PaintCoat}, nil},
		"WaterStainOnOak": {oak, finish.Wanted{Look: finish.Stained, Topcoats: 1}, finish.Palette{Stain: product(finish.WaterAcrylic), Topcoat: product(finish.WaterPolyurethane)},
			[]finish.Kind{finish.Sand, finish.RaiseGrain, finish.DryOut, finish.Sand, finish.DustOff, finish.StainCoat}, []finish.Kind{finish.BlockStains}},
		"WaterOverOilGlaze": {oak, finish.Wanted{Look: finish.Glazed, Topcoats: 1}, finish.Palette{Paint: light(finish.OilVarnish), Glaze: product(finish.OilVarnish), Topcoat: product(finish.WaterPolyurethane)},
			[]finish.Kind{finish.GlazeCoat, finish.TieCoat, finish.TopcoatCoat}, []finish.Kind{finish.RaiseGrain}},
		"LacquerOverVarnish": {finish.Assessment{Material: finish.SolidWood, OldFinish: finish.OilVarnish, Lead: finish.LeadFree}, finish.Wanted{Look: finish.Clear}, finish.Palette{Topcoat: product(finish.NitroLacquer)},
			[]finish.Kind{finish.ScuffSand, finish.TieCoat, finish.TopcoatCoat}, []finish.Kind{finish.Strip}},
		"LacquerMelts": {finish.Assessment{Material: finish.SolidWood, Species: "birch"}, finish.Wanted{Look: finish.Clear, Topcoats: 3}, finish.Palette{Topcoat: product(finish.NitroLacquer)},
			[]finish.Kind{finish.TopcoatCoat, finish.TopcoatCoat, finish.TopcoatCoat}, []finish.Kind{finish.ScuffSand}},
		"WaxOnIt": {finish.Assessment{Material: finish.SolidWood, Species: "pine", OldFinish: finish.Wax, Lead: finish.LeadFree}, finish.Wanted{Look: finish.Oiled}, finish.Palette{Oil: product(finish.DryingOil)},
			[]finish.Kind{finish.Clean, finish.Strip, finish.WashOff, finish.OilCoat}, nil},
		"LeadFound": {finish.Assessment{Material: finish.SolidWood, OldFinish: finish.OilVarnish, Lead: finish.LeadFound}, finish.Wanted{Look: finish.Painted}, finish.Palette{Paint: product(finish.Latex)},
			[]finish.Kind{finish.Strip, finish.WashOff, finish.Sand}, []finish.Kind{finish.LeadTest}},
		"Laminate": {finish.Assessment{Material: finish.Laminate}, finish.Wanted{Look: finish.Painted}, finish.Palette{Paint: product(finish.WaterAcrylic)},
			[]finish.Kind{finish.Clean, finish.ScuffSand, finish.DustOff, finish.PaintCoat}, []finish.Kind{finish.Sand, finish.RaiseGrain}},
		"TeakVarnished": {finish.Assessment{Material: finish.SolidWood, Species: "teak"}, finish.Wanted{Look: finish.Clear}, finish.Palette{Topcoat: product(finish.OilPolyurethane)},
			[]finish.Kind{finish.Sand, finish.TieCoat, finish.TopcoatCoat}, nil},
		"LightOilPaintOnPine": {finish.Assessment{Material: finish.SolidWood, Species: "pine"}, finish.Wanted{Look: finish.Painted, Waxed: true}, finish.Palette{Paint: light(finish.OilVarnish), Wax: product(finish.Wax)},
			[]finish.Kind{finish.Sand, finish.DustOff, finish.SpotSeal, finish.PaintCoat, finish.PaintCoat, finish.Cure, finish.WaxCoat}, []finish.Kind{finish.BlockStains}},
		"TonedBareWood": {finish.Assessment{Material: finish.SolidWood, Species: "maple"}, finish.Wanted{Look: finish.Toned, Topcoats: 1}, finish.Palette{Toner: product(finish.NitroLacquer), Topcoat: product(finish.NitroLacquer)},
			[]finish.Kind{finish.Sand, finish.SealCoat, finish.TonerCoat, finish.TopcoatCoat}, nil},
		"KeepsItsFinish": {modern, finish.Wanted{Look: finish.Toned, Topcoats: 1}, finish.Palette{Toner: product(finish.NitroLacquer), Topcoat: product(finish.NitroLacquer)},
			[]finish.Kind{finish.Clean, finish.TonerCoat, finish.TopcoatCoat}, []finish.Kind{finish.Strip, finish.Sand}},
	} {
		steps := plan(t, c.a, c.w, c.p)
		if !inOrder(steps, c.want...) {
			t.Errorf("%s: %v\nhas not, in this order, %v", name, kinds(steps), c.want)
		}
		for _, k := range c.not {
			if slices.Contains(kinds(steps), k) {
				t.Errorf("%s: %v has %s", name, kinds(steps), k)
			}
		}
	}
}

// What no step can mend is refused with the rule that stands against it.
func TestPlanPart_Impossible(t *testing.T) {
	all := finish.Palette{Paint: product(finish.Latex), Stain: product(finish.OilVarnish), Topcoat: product(finish.CatalysedLacquer), Wax: product(finish.Wax), Liming: product(finish.WaterAcrylic)}
	for name, c := range map[string]struct {
		a      finish.Assessment
		w      finish.Wanted
		reason string
	}{
		"LimedMDF":          {finish.Assessment{Material: finish.MDF}, finish.Wanted{Look: finish.Limewashed}, "PLAN_IMPOSSIBLE"},
		"MetalUnprimed":     {finish.Assessment{Material: finish.Metal}, finish.Wanted{Look: finish.Painted}, "PLAN_IMPOSSIBLE"},
		"Defect":            {finish.Assessment{Material: finish.MDF, Defects: []finish.Defect{"ugly"}}, finish.Wanted{Look: finish.Painted}, "DEFECT_UNKNOWN"},
		"StainOnLaminate":   {finish.Assessment{Material: finish.Laminate}, finish.Wanted{Look: finish.Stained}, "PLAN_IMPOSSIBLE"},
		"NoGlaze":           {finish.Assessment{Material: finish.MDF}, finish.Wanted{Look: finish.Glazed}, "PRODUCT_MISSING"},
		"NoLook":            {finish.Assessment{Material: finish.MDF}, finish.Wanted{Look: "nice"}, "LOOK_UNKNOWN"},
		"SevenCoats":        {finish.Assessment{Material: finish.MDF}, finish.Wanted{Look: finish.Painted, Coats: 7}, "OUT_OF_RANGE"},
		"NoMaterial":        {finish.Assessment{}, finish.Wanted{Look: finish.Painted}, "MATERIAL_UNKNOWN"},
		"NoSuchWood":        {finish.Assessment{Material: finish.SolidWood, Species: "formica"}, finish.Wanted{Look: finish.Painted}, "SPECIES_UNKNOWN"},
		"NoSuchOldFinish":   {finish.Assessment{Material: finish.SolidWood, OldFinish: "jam"}, finish.Wanted{Look: finish.Painted}, "FAMILY_UNKNOWN"},
		"NoSuchTest":        {finish.Assessment{Material: finish.SolidWood, Lead: "some"}, finish.Wanted{Look: finish.Painted}, "LEAD_UNKNOWN"},
		"VeneerOfFootThick": {finish.Assessment{Material: finish.Veneer, VeneerMM: 300}, finish.Wanted{Look: finish.Painted}, "OUT_OF_RANGE"},
	} {
		if steps, err := finish.PlanPart(c.a, c.w, all); !fault.Is(err, c.reason) {
			t.Errorf("%s = %v, %v, want %s", name, kinds(steps), err, c.reason)
		}
	}
}

func someFamily(t *rapid.T, label string) finish.Family {
	return rapid.SampledFrom(finish.Families()).Draw(t, label)
}

func somePart(t *rapid.T) finish.Assessment {
	a := finish.Assessment{
		Material: rapid.SampledFrom([]finish.Material{finish.SolidWood, finish.Veneer, finish.MDF, finish.Laminate, finish.Metal}).Draw(t, "material"),
		Waxed:    rapid.Bool().Draw(t, "waxed"), OldStain: rapid.Bool().Draw(t, "old stain"),
		Lead:      rapid.SampledFrom([]finish.Lead{finish.LeadUntested, finish.LeadFree, finish.LeadFound}).Draw(t, "lead"),
		PaintedIn: rapid.SampledFrom([]int{0, 1920, 1978, 1979, 2010}).Draw(t, "painted in"), VeneerMM: rapid.SampledFrom([]float64{0, 0.5, 0.9}).Draw(t, "veneer"),
	}
	a.Defects = rapid.SliceOfNDistinct(rapid.SampledFrom(finish.Defects()), 0, 3, rapid.ID).Draw(t, "defects")
	if rapid.Bool().Draw(t, "finished") {
		a.OldFinish = rapid.SampledFrom(append(finish.Families(), finish.UnknownFinish)).Draw(t, "old finish")
	}
	if rapid.Bool().Draw(t, "known wood") {
		a.Species = rapid.SampledFrom(finish.SpeciesNames()).Draw(t, "species")
	}
	return a
}

func someProduct(t *rapid.T, label string) *finish.Product {
	p := product(someFamily(t, label))
	p.Light, p.BlocksStains = rapid.Bool().Draw(t, label+" is light"), rapid.Bool().Draw(t, label+" blocks")
	if rapid.Bool().Draw(t, label+" is measured") {
		p.SolidsPercent, p.DryFilmUm = 40, rapid.SampledFrom([]float64{20, 60, 90, 130}).Draw(t, label+"'s film")
	}
	if rapid.Bool().Draw(t, label+" has a window") {
		p.RecoatCloses = p.Recoat + time.Duration(rapid.IntRange(0, 48).Draw(t, label+" closes"))*time.Hour
	}
	return p
}

// Whatever the part, the look and the products: a plan breaks no rule but those that are
// notes, it begins with nothing that a later step should have come before, and making it
// again of itself adds nothing. What cannot be done is refused by a rule.
func TestPlanPart_PassesItsOwnCheck(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := somePart(t)
		w := finish.Wanted{Look: rapid.SampledFrom([]finish.Look{finish.Painted, finish.Glazed, finish.Stained, finish.Clear, finish.Oiled, finish.Toned}).Draw(t, "look"),
			Coats: rapid.IntRange(0, 4).Draw(t, "coats"), Topcoats: rapid.IntRange(0, 3).Draw(t, "topcoats"), Waxed: rapid.Bool().Draw(t, "wax")}
		p := finish.Palette{Paint: someProduct(t, "paint"), Glaze: someProduct(t, "glaze"), Stain: someProduct(t, "stain"), Toner: someProduct(t, "toner"),
			Topcoat: someProduct(t, "topcoat"), Oil: product(finish.DryingOil), Wax: product(finish.Wax)}
		steps, err := finish.PlanPart(a, w, p)
		if fault.Is(err, "PLAN_IMPOSSIBLE") {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		findings, err := finish.Check(a, steps)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range findings {
			if f.Rule.Severity != finish.Note {
				t.Fatalf("%v: %v", kinds(steps), f)
			}
		}
		again, err := finish.Complete(a, steps)
		if err != nil || !slices.Equal(again, steps) {
			t.Fatalf("%v\nmade again is\n%v, %v", kinds(steps), kinds(again), err)
		}
	})
}

func BenchmarkPlanPart_Twelve(b *testing.B) {
	a := finish.Assessment{Material: finish.SolidWood, Species: "oak", OldFinish: finish.OilVarnish}
	w := finish.Wanted{Look: finish.Glazed, Topcoats: 3}
	p := finish.Palette{Paint: light(finish.WaterAcrylic), Glaze: product(finish.OilVarnish), Topcoat: product(finish.WaterPolyurethane)}
	for b.Loop() {
		for range 12 {
			if _, err := finish.PlanPart(a, w, p); err != nil {
				b.Fatal(err)
			}
		}
	}
}
