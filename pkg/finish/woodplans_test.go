package finish_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/finish"
)

// Teak takes an oil stain, and over a seal oil polyurethane; its oil is wiped off just before
// the first coat. Common practice.
func TestPlanPart_OilyWood(t *testing.T) {
	p := finish.Palette{Stain: product(finish.OilVarnish), Topcoat: product(finish.OilPolyurethane), Oil: product(finish.DryingOil)}
	for name, c := range map[string]struct {
		w    finish.Wanted
		want string
	}{
		"Stained": {finish.Wanted{Look: finish.Stained, Topcoats: 1}, "clean_and_degrease, sand P100, sand P150, sand P180, dust_off, wipe_with_solvent, stain_coat, tie_coat, inspect adhesion, scuff_sand P320, dust_off, topcoat_coat, cure, hardware_on"},
		"Clear":   {finish.Wanted{Look: finish.Clear}, "clean_and_degrease, sand P100, sand P150, sand P180, dust_off, wipe_with_solvent, tie_coat, inspect adhesion, scuff_sand P320, dust_off, topcoat_coat, cure, hardware_on"},
		"Oiled":   {finish.Wanted{Look: finish.Oiled, Coats: 1}, "clean_and_degrease, sand P100, sand P150, sand P180, dust_off, wipe_with_solvent, oil_coat, cure, hardware_on"},
	} {
		if got := what(plan(t, solid("teak"), c.w, p)); got != c.want {
			t.Errorf("%s: %s\nwant %s", name, got, c.want)
		}
	}
}

// Laminate and metal are primed: with what is on hand, and laminate else with shellac.
func TestPlanPart_PrimesWhatIsSmooth(t *testing.T) {
	primer := product(finish.OilVarnish)
	primer.BlocksStains = true
	bare := finish.Palette{Paint: product(finish.WaterAcrylic), Topcoat: product(finish.NitroLacquer)}
	primed := bare
	primed.Primer = primer
	for name, c := range map[string]struct {
		material finish.Material
		w        finish.Wanted
		p        finish.Palette
		want     string
	}{
		"Laminate":       {finish.Laminate, finish.Wanted{Look: finish.Painted, Coats: 1}, bare, "clean_and_degrease, scuff_sand P320, dust_off, tie_coat, inspect adhesion, scuff_sand P320, dust_off, paint_coat, cure, hardware_on"},
		"LaminatePrimed": {finish.Laminate, finish.Wanted{Look: finish.Painted, Coats: 1}, primed, "clean_and_degrease, scuff_sand P320, dust_off, prime, inspect adhesion, scuff_sand P320, dust_off, paint_coat, cure, hardware_on"},
		"LaminateClear":  {finish.Laminate, finish.Wanted{Look: finish.Clear}, primed, "clean_and_degrease, scuff_sand P320, dust_off, prime, inspect adhesion, scuff_sand P320, dust_off, tie_coat, topcoat_coat, cure, hardware_on"},
		"Metal":          {finish.Metal, finish.Wanted{Look: finish.Painted, Coats: 1}, primed, "clean_and_degrease, scuff_sand P320, dust_off, prime, inspect adhesion, scuff_sand P320, dust_off, paint_coat, cure, hardware_on"},
		"LacqueredBrass": {finish.Metal, finish.Wanted{Look: finish.Clear}, bare, "clean_and_degrease, scuff_sand P320, dust_off, topcoat_coat, inspect adhesion, cure, hardware_on"},
	} {
		if got := what(plan(t, finish.Assessment{Material: c.material}, c.w, c.p)); got != c.want {
			t.Errorf("%s: %s\nwant %s", name, got, c.want)
		}
	}
}

// Two colours: stains are held back before the first, tape waits for the coat that it sticks
// on, nothing is scuffed against it, and it comes off while the edge is soft.
func TestPlanPiece_TwoTone(t *testing.T) {
	p := finish.Palette{Paint: product(finish.WaterAcrylic), SecondPaint: light(finish.WaterAcrylic), Topcoat: product(finish.WaterPolyurethane)}
	stages := planPiece(t, []finish.Part{{Label: "case", AreaM2: 1, Assessment: solid("oak"), Wanted: finish.Wanted{Look: finish.TwoTone, Topcoats: 1}}}, p)
	var on, off, first, block int
	for i, s := range stages {
		switch s.Key {
		case "mask":
			on = i
		case "unmask":
			off = i
		case "paint":
			first = i
		case "block-stains":
			block = i
		}
	}
	if block == 0 || block > first || slices.ContainsFunc(stages[on:off], func(s finish.Stage) bool { return s.Step.Kind == finish.ScuffSand || s.Step.Kind == finish.BlockStains }) {
		t.Errorf("%v", titles(stages))
	}
	if below, dusted := find(t, stages, "paint-2 (case)"), stages[on-1]; below.Step.Wait != 24*time.Hour || dusted.Step.Kind != finish.DustOff || dusted.Step.Wait != 0 {
		t.Errorf("the taped coat dries %v, and dusting off %v", below.Step.Wait, dusted.Step.Wait)
	}
	if last := stages[off-1]; last.Key != "paint-4" || last.Step.Wait != 30*time.Minute || stages[off].Step.Wait != 4*time.Hour-30*time.Minute {
		t.Errorf("the tape comes off %v after %s, and then %v pass", last.Step.Wait, last.Key, stages[off].Step.Wait)
	}
}

// Veneer too thin for all grades leaves coarse ones out; too thin to be sanded again, it gets
// shellac under a water-borne film. Common practice.
func TestPlanPart_ThinVeneerUnderWater(t *testing.T) {
	for mm, want := range map[float64]string{
		0.6:  "clean_and_degrease, sand P150, sand P180, raise_grain, dry_out, sand P180, dust_off, topcoat_coat, cure, hardware_on",
		0.5:  "clean_and_degrease, sand P150, sand P180, raise_grain, dry_out, sand P180, dust_off, topcoat_coat, cure, hardware_on",
		0.4:  "clean_and_degrease, sand P180, raise_grain, dry_out, sand P180, dust_off, topcoat_coat, cure, hardware_on",
		0.35: "clean_and_degrease, sand P180, dust_off, seal_coat, scuff_sand P320, dust_off, topcoat_coat, cure, hardware_on",
	} {
		veneer := finish.Assessment{Material: finish.Veneer, VeneerMM: mm, Species: "beech"}
		if got := what(plan(t, veneer, finish.Wanted{Look: finish.Clear}, finish.Palette{Topcoat: product(finish.WaterPolyurethane)})); got != want {
			t.Errorf("%v mm: %s\nwant %s", mm, got, want)
		}
	}
}

// Liming wax is finished with wax alone; pine has no pores to open, and is pickled.
func TestPlanPart_LimedOtherwise(t *testing.T) {
	p := finish.Palette{Liming: product(finish.Wax), Wax: product(finish.Wax)}
	if got, want := what(plan(t, solid("oak"), finish.Wanted{Look: finish.Limewashed, Waxed: true}, p)),
		"clean_and_degrease, sand P100, sand P150, sand P180, open_pores, dust_off, seal_coat, liming_coat, wipe_off, rub_out_or_wax, cure, hardware_on"; got != want {
		t.Errorf("limed with wax: %s\nwant %s", got, want)
	}
	p = finish.Palette{Liming: light(finish.WaterAcrylic), Topcoat: product(finish.WaterPolyurethane)}
	if got, want := what(plan(t, solid("pine"), finish.Wanted{Look: finish.Limewashed}, p)),
		"clean_and_degrease, sand P100, sand P150, sand P180, dust_off, seal_coat, scuff_sand P320, dust_off, liming_coat, wipe_off, topcoat_coat, cure, hardware_on"; got != want {
		t.Errorf("pickled pine: %s\nwant %s", got, want)
	}
}

// Repairs come where they hold: glue while the old finish keeps it out of the wood, patches
// and filler on dry bare wood before it is sanded, shellac against a smell before the film.
func TestPlanPart_Repairs(t *testing.T) {
	old := finish.Assessment{Material: finish.Veneer, VeneerMM: 0.9, Species: "beech", OldFinish: finish.NitroLacquer, PaintedIn: 1990}
	all := old
	all.Defects = []finish.Defect{finish.Dents, finish.VeneerChip, finish.Odour, finish.LooseJoint}
	p := finish.Palette{Stain: product(finish.OilVarnish), Topcoat: product(finish.OilVarnish), Paint: product(finish.OilVarnish)}
	kept := all
	kept.OldFinish = finish.OilVarnish
	lifted, missing := old, old
	lifted.Defects, missing.Defects = []finish.Defect{finish.VeneerLift}, []finish.Defect{finish.MissingPiece}
	for name, c := range map[string]struct {
		a    finish.Assessment
		look finish.Look
		want string
	}{
		"Stained": {all, finish.Stained, "clean_and_degrease, glue_and_clamp, strip, neutralise_or_wash_off, dry_out, veneer_repair, fill, sand P100, sand P150, sand P180, dust_off, stain_coat, seal_coat, scuff_sand P320, dust_off, topcoat_coat, cure, hardware_on"},
		"Painted": {kept, finish.Painted, "clean_and_degrease, glue_and_clamp, veneer_repair, fill, scuff_sand P220, dust_off, seal_coat, scuff_sand P320, dust_off, paint_coat, scuff_sand P320, dust_off, topcoat_coat, cure, hardware_on"},
		"Lifted":  {lifted, finish.Stained, "clean_and_degrease, glue_and_clamp, strip, neutralise_or_wash_off, dry_out, sand P100, sand P150, sand P180, dust_off, stain_coat, topcoat_coat, cure, hardware_on"},
		"Missing": {missing, finish.Stained, "clean_and_degrease, strip, neutralise_or_wash_off, dry_out, veneer_repair, sand P100, sand P150, sand P180, dust_off, stain_coat, topcoat_coat, cure, hardware_on"},
	} {
		steps := plan(t, c.a, finish.Wanted{Look: c.look, Coats: 1, Topcoats: 1}, p)
		if got := what(steps); got != c.want {
			t.Errorf("%s: %s\nwant %s", name, got, c.want)
		}
		for _, s := range steps {
			if s.Kind == finish.GlueClamp && s.Wait != 4*time.Hour || s.Kind == finish.Fill && s.Wait != 24*time.Hour || s.Kind == finish.VeneerRepair && s.Wait != 4*time.Hour {
				t.Errorf("%s: %s waits %v", name, s.Kind, s.Wait)
			}
		}
	}
}

// Shellac melts into old shellac and needs no scuffing, but filler in it is levelled.
func TestPlanPart_FillerIsLevelled(t *testing.T) {
	a := solid("beech")
	a.OldFinish, a.Lead = finish.Shellac, finish.LeadFree
	for defects, want := range map[string]string{
		"":                   "clean_and_degrease, topcoat_coat, cure, hardware_on",
		string(finish.Dents): "clean_and_degrease, fill, scuff_sand P220, dust_off, topcoat_coat, cure, hardware_on",
	} {
		a.Defects = nil
		if defects != "" {
			a.Defects = []finish.Defect{finish.Defect(defects)}
		}
		if got := what(plan(t, a, finish.Wanted{Look: finish.Clear}, finish.Palette{Topcoat: product(finish.Shellac)})); got != want {
			t.Errorf("%q: %s\nwant %s", defects, got, want)
		}
	}
}
