package finish_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// Common practice: white goes into brushed-out pores over a seal and is wiped off wet; iron
// and dye go on bare wood; the second colour goes along tape on a film that it does not lift.
func TestPlanPart_Looks(t *testing.T) {
	oak := finish.Assessment{Material: finish.SolidWood, Species: "oak"}
	varnished := finish.Assessment{Material: finish.SolidWood, Species: "oak", OldFinish: finish.OilVarnish, PaintedIn: 1990}
	p := finish.Palette{Liming: light(finish.WaterAcrylic), Topcoat: product(finish.WaterPolyurethane), Eboniser: product(finish.WaterAcrylic), Paint: product(finish.OilVarnish), SecondPaint: light(finish.WaterAcrylic)}
	primed := p
	primed.Primer = product(finish.OilVarnish)
	for name, c := range map[string]struct {
		a    finish.Assessment
		w    finish.Wanted
		p    finish.Palette
		want []finish.Kind
		not  []finish.Kind
	}{
		"Limewashed": {oak, finish.Wanted{Look: finish.Limewashed}, p,
			[]finish.Kind{finish.Clean, finish.Sand, finish.OpenPores, finish.DustOff, finish.SealCoat, finish.ScuffSand, finish.DustOff, finish.LimingCoat, finish.WipeOff, finish.TopcoatCoat}, []finish.Kind{finish.BlockStains}},
		"LimewashedOverVarnish": {varnished, finish.Wanted{Look: finish.Limewashed, Topcoats: 2}, p,
			[]finish.Kind{finish.Strip, finish.WashOff, finish.DryOut, finish.Sand, finish.OpenPores, finish.SealCoat, finish.LimingCoat, finish.WipeOff, finish.TopcoatCoat, finish.TopcoatCoat}, nil},
		"Ebonised": {varnished, finish.Wanted{Look: finish.Ebonised}, p,
			[]finish.Kind{finish.Strip, finish.Sand, finish.RaiseGrain, finish.DryOut, finish.Sand, finish.DustOff, finish.Ebonise, finish.TopcoatCoat}, nil},
		"EbonisedUnderLacquer": {oak, finish.Wanted{Look: finish.Ebonised, Topcoats: 2}, finish.Palette{Eboniser: product(finish.WaterAcrylic), Topcoat: product(finish.NitroLacquer)},
			[]finish.Kind{finish.Ebonise, finish.TopcoatCoat, finish.TopcoatCoat}, []finish.Kind{finish.TieCoat, finish.ScuffSand}},
		"TwoTone": {oak, finish.Wanted{Look: finish.TwoTone, Topcoats: 1}, p,
			[]finish.Kind{finish.BlockStains, finish.PaintCoat, finish.PaintCoat, finish.TieCoat, finish.ScuffSand, finish.DustOff, finish.Mask, finish.PaintCoat, finish.PaintCoat, finish.Unmask, finish.TopcoatCoat}, nil},
		"Primed": {oak, finish.Wanted{Look: finish.Painted}, primed, []finish.Kind{finish.Sand, finish.Prime, finish.PaintCoat}, nil},
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

// Liming paste lies wet until it is wiped off; only then it dries.
func TestPlanPart_LimingIsWipedWet(t *testing.T) {
	p := finish.Palette{Liming: light(finish.WaterAcrylic), Topcoat: product(finish.WaterPolyurethane)}
	steps := plan(t, finish.Assessment{Material: finish.SolidWood, Species: "ash"}, finish.Wanted{Look: finish.Limewashed}, p)
	at := slices.Index(kinds(steps), finish.LimingCoat)
	if steps[at].Wait != 0 || steps[at+1].Kind != finish.WipeOff || steps[at+1].Wait != 4*time.Hour {
		t.Errorf("%v waits %v, then %v %v", steps[at].Kind, steps[at].Wait, steps[at+1].Kind, steps[at+1].Wait)
	}
}

func TestPlanPart_LooksImpossible(t *testing.T) {
	all := finish.Palette{Liming: product(finish.OilVarnish), Topcoat: product(finish.OilVarnish), Eboniser: product(finish.WaterAcrylic), Paint: product(finish.Latex)}
	unfit := all
	unfit.TieCoat = product(finish.OilVarnish)
	runs := all
	runs.Paint = product(finish.Latex)
	runs.Paint.SolidsPercent, runs.Paint.DryFilmUm = 1, 9000
	maple := finish.Assessment{Material: finish.SolidWood, Species: "maple"}
	for name, c := range map[string]struct {
		look   finish.Look
		p      finish.Palette
		reason string
	}{
		"OneColour": {finish.TwoTone, all, "PRODUCT_MISSING"}, "NoLiming": {finish.Limewashed, finish.Palette{}, "PRODUCT_MISSING"},
		"NoEboniser": {finish.Ebonised, finish.Palette{Topcoat: all.Topcoat}, "PRODUCT_MISSING"}, "TieCoat": {finish.Painted, unfit, "TIE_COAT_UNFIT"}, "CentimetreOfPaint": {finish.Painted, runs, "PLAN_TOO_LONG"},
	} {
		if steps, err := finish.PlanPart(maple, finish.Wanted{Look: c.look}, c.p); !fault.Is(err, c.reason) || steps != nil {
			t.Errorf("%s = %v, %v, want %s", name, kinds(steps), err, c.reason)
		}
	}
}

// 60 µm of 20 % solids would stand 300 µm wet: two coats of half the film leave as much.
func TestPlanPart_ThinCoats(t *testing.T) {
	paint := product(finish.OilVarnish)
	paint.SolidsPercent, paint.DryFilmUm = 20, 60
	film := func() (n int, um float64) {
		for _, s := range plan(t, finish.Assessment{Material: finish.MDF}, finish.Wanted{Look: finish.Painted, Coats: 2}, finish.Palette{Paint: paint}) {
			if s.Kind == finish.PaintCoat {
				n, um = n+1, um+s.Product.DryFilmUm
			}
		}
		return n, um
	}
	if n, um := film(); n != 4 || um != 120 {
		t.Errorf("%d coats leave %v µm, want 4 and 120", n, um)
	}
	paint.Method = coating.Wipe
	if n, _ := film(); n != 2 {
		t.Errorf("wiped on it takes %d coats, and nothing runs that is wiped off", n)
	}
}

// The shop's own dewaxed shellac and its stain-blocking primer come before what every shop
// mixes; a water-borne primer holds no tannin back.
func TestPlanPart_OwnTieCoat(t *testing.T) {
	own, primer, water := product(finish.DewaxedShellac), product(finish.NitroLacquer), product(finish.WaterAcrylic)
	own.ID, own.BlocksStains, primer.ID, primer.BlocksStains, water.BlocksStains = "own shellac", true, "primer", true, true
	thick := product(finish.DewaxedShellac)
	thick.ID, thick.BlocksStains, thick.SolidsPercent, thick.DryFilmUm = "thick shellac", true, 20, 90
	for name, c := range map[string]struct {
		p    finish.Palette
		want string
	}{
		"Shop": {finish.Palette{}, ""}, "Own": {finish.Palette{TieCoat: own}, "own shellac"}, "WaterPrimer": {finish.Palette{TieCoat: own, Primer: water}, "own shellac"},
		"Thick": {finish.Palette{TieCoat: thick}, "thick shellac"}, "Primer": {finish.Palette{TieCoat: own, Primer: primer}, "primer"},
	} {
		c.p.Glaze, c.p.Toner, c.p.Topcoat = product(finish.OilVarnish), light(finish.WaterAcrylic), light(finish.WaterAcrylic)
		steps := plan(t, finish.Assessment{Material: finish.SolidWood, Species: "oak"}, finish.Wanted{Look: finish.Clear}, c.p)
		at := slices.Index(kinds(steps), finish.BlockStains)
		if at < 0 || steps[at].Product.ID != c.want {
			t.Errorf("%s: %v, want stains held back by %q", name, kinds(steps), c.want)
		}
	}
	toned := finish.Palette{TieCoat: thick, Toner: product(finish.NitroLacquer)}
	steps := plan(t, finish.Assessment{Material: finish.SolidWood, Species: "maple"}, finish.Wanted{Look: finish.Toned}, toned)
	if at := slices.Index(kinds(steps), finish.SealCoat); at < 0 || steps[at].Product.DryFilmUm != 30 {
		t.Errorf("%v seals with coats that run", kinds(steps))
	}
	if p := finish.ShopShellac(); p.Family != finish.DewaxedShellac || !p.BlocksStains || p.ID != "" {
		t.Errorf("what every shop mixes is %+v", p)
	}
}
