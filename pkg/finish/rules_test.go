package finish_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

func coat(k finish.Kind, f finish.Family) finish.Step {
	p := product(f)
	return finish.Step{Kind: k, Product: *p, Wait: p.Recoat}
}

func do(ks ...finish.Kind) (all []finish.Step) {
	for _, k := range ks {
		all = append(all, finish.Step{Kind: k})
	}
	return all
}

func sand(number int) finish.Step { return finish.Step{Kind: finish.Sand, Grit: finish.P(number)} }
func scuff(number int) finish.Step {
	return finish.Step{Kind: finish.ScuffSand, Grit: finish.P(number)}
}

// prepared are the steps up to clean, sanded wood without dust.
func prepared(more ...finish.Step) []finish.Step {
	steps := append(do(finish.Clean), sand(120), sand(180), finish.Step{Kind: finish.DustOff})
	return append(steps, more...)
}

// A plan that is as it should be has nothing against it.
func TestCheck_Clean(t *testing.T) {
	steps := prepared(coat(finish.TopcoatCoat, finish.Shellac), coat(finish.TopcoatCoat, finish.Shellac), finish.Step{Kind: finish.Cure, Wait: 72 * time.Hour}, finish.Step{Kind: finish.HardwareOn})
	findings, err := finish.Check(finish.Assessment{Material: finish.SolidWood, Species: "beech"}, steps)
	if err != nil || len(findings) > 0 {
		t.Errorf("Check = %v, %v, want nothing", findings, err)
	}
}

// What a rule finds depends on more than one case shows.
func TestCheck_FindsToo(t *testing.T) {
	oak := finish.Assessment{Material: finish.SolidWood, Species: "oak"}
	lime := func(wait, wiped time.Duration) []finish.Step {
		paste := coat(finish.LimingCoat, finish.OilVarnish)
		paste.Wait = wait
		return prepared(finish.Step{Kind: finish.OpenPores}, coat(finish.SealCoat, finish.DewaxedShellac), paste, finish.Step{Kind: finish.WipeOff, Wait: wiped}, coat(finish.TopcoatCoat, finish.OilVarnish))
	}
	loose, dented := solid("beech"), solid("beech")
	loose.Defects, dented.Defects = []finish.Defect{finish.LooseJoint}, []finish.Defect{finish.Dents}
	for name, c := range map[string]struct {
		a     finish.Assessment
		steps []finish.Step
		rule  string
		found bool
	}{
		"StrippedLoose":   {loose, do(finish.Clean, finish.Strip), "glue-before-finish", true},
		"GluedFirst":      {loose, do(finish.Clean, finish.GlueClamp, finish.Strip), "glue-before-finish", false},
		"FilledLate":      {dented, prepared(finish.Step{Kind: finish.Fill}, coat(finish.TopcoatCoat, finish.OilVarnish)), "sand-bare-wood", true},
		"FilledBefore":    {dented, append(do(finish.Clean, finish.Fill), sand(150), finish.Step{Kind: finish.DustOff}, coat(finish.TopcoatCoat, finish.OilVarnish)), "sand-bare-wood", false},
		"WipedWet":        {oak, lime(0, 4*time.Hour), "wipe-off", false},
		"WipedDry":        {oak, lime(5*time.Hour, 4*time.Hour), "wipe-off", true},
		"DriesAgain":      {oak, lime(3*time.Hour, 2*time.Hour), "recoat-too-early", true},
		"ThinUnknown":     {finish.Assessment{Material: finish.Veneer}, []finish.Step{sand(150), sand(180), sand(220), sand(220)}, "veneer-left", true},
		"Photographed":    {oak, append(do(finish.Clean), sand(80), finish.Step{Kind: "photograph"}, sand(220)), "grit-sequence", true},
		"LaminateCoarse":  {finish.Assessment{Material: finish.Laminate}, append(do(finish.Clean), scuff(60)), "laminate-sanding", true},
		"LaminateDulled":  {finish.Assessment{Material: finish.Laminate}, append(do(finish.Clean), scuff(220)), "laminate-sanding", false},
		"VeneerScuffed":   {finish.Assessment{Material: finish.Veneer, VeneerMM: 0.5, OldFinish: finish.Shellac, Lead: finish.LeadFree}, append(do(finish.Clean), scuff(40)), "thin-veneer", true},
		"FreshStain":      {solid("beech"), prepared(coat(finish.StainCoat, finish.OilVarnish), sand(180)), "scuff-through-colour", true},
		"OwnFilm":         {solid("beech"), prepared(coat(finish.TopcoatCoat, finish.OilVarnish), sand(80)), "grit-between-coats", true},
		"FilmOnP120":      {solid("beech"), append(do(finish.Clean), sand(120), coat(finish.TopcoatCoat, finish.OilVarnish)), "grit-before-film", false},
		"RaisedAnHour":    {solid("beech"), prepared(finish.Step{Kind: finish.RaiseGrain}, finish.Step{Kind: finish.DryOut, Wait: time.Hour}), "dry-time", true},
		"RaisedTwo":       {solid("beech"), prepared(finish.Step{Kind: finish.RaiseGrain}, finish.Step{Kind: finish.DryOut, Wait: 2 * time.Hour}), "dry-time", false},
		"WashedADay":      {solid("beech"), append(do(finish.Strip, finish.WashOff), finish.Step{Kind: finish.DryOut, Wait: 24 * time.Hour}), "dry-time", false},
		"MilkOverChalk":   {solid("beech"), prepared(coat(finish.PaintCoat, finish.ChalkPaint), coat(finish.PaintCoat, finish.MilkPaint)), "milk-paint", false},
		"MilkOverLacquer": {solid("beech"), prepared(coat(finish.PaintCoat, finish.NitroLacquer), coat(finish.PaintCoat, finish.MilkPaint)), "milk-paint", true},
		"WipedThenSanded": {solid("teak"), prepared(finish.Step{Kind: finish.WipeSolvent}, sand(180), finish.Step{Kind: finish.DustOff}, coat(finish.TopcoatCoat, finish.Shellac)), "solvent-wipe", true},
		"SoftEdge":        {solid("beech"), prepared(finish.Step{Kind: finish.PaintCoat, Product: *product(finish.Shellac), Wait: 24 * time.Hour}, finish.Step{Kind: finish.Mask}, finish.Step{Kind: finish.PaintCoat, Product: *product(finish.Shellac), Wait: time.Hour}, finish.Step{Kind: finish.Unmask}), "unmask-soft", false},
		"StrippedAgain":   {finish.Assessment{Material: finish.SolidWood, Species: "beech", OldFinish: finish.UnknownFinish, Lead: finish.LeadFree}, append(do(finish.Clean), scuff(320), finish.Step{Kind: finish.DustOff}, coat(finish.TieCoat, finish.DewaxedShellac), finish.Step{Kind: finish.Strip}, finish.Step{Kind: finish.WashOff}, finish.Step{Kind: finish.DryOut, Wait: 24 * time.Hour}, sand(120)), "adhesion-test", false},
		"Cleaned":         {oak, append(do(finish.Clean), sand(180), finish.Step{Kind: finish.RaiseGrain}, sand(180)), "grit-sequence", false},
	} {
		findings, err := finish.Check(c.a, c.steps)
		found := slices.ContainsFunc(findings, func(f finish.Finding) bool { return f.Rule.ID == c.rule })
		if err != nil || found != c.found {
			t.Errorf("%s: %v, %v, want %s: %v", name, findings, err, c.rule, c.found)
		}
	}
}

// Sealed pores are not brushed out, but the seal dries all the same; tape that guards bare
// wood stays until the piece is put together.
func TestComplete_PutsInWhatHelps(t *testing.T) {
	seal := coat(finish.SealCoat, finish.DewaxedShellac)
	seal.Wait = time.Hour
	oak := finish.Assessment{Material: finish.SolidWood, Species: "oak"}
	for name, c := range map[string]struct {
		steps     []finish.Step
		want, not finish.Kind
	}{
		"Sealed": {prepared(seal, coat(finish.LimingCoat, finish.OilVarnish)), finish.Dry, finish.OpenPores},
		"Taped":  {prepared(finish.Step{Kind: finish.Mask}, coat(finish.TopcoatCoat, finish.Shellac), finish.Step{Kind: finish.HardwareOn}), finish.Unmask, finish.Strip},
	} {
		done, err := finish.Complete(oak, c.steps)
		if err != nil || !slices.Contains(kinds(done), c.want) || slices.Contains(kinds(done), c.not) {
			t.Errorf("%s: %v, %v, want %s and not %s", name, kinds(done), err, c.want, c.not)
		}
	}
}

func TestFinding_SaysWhatToDo(t *testing.T) {
	findings, err := finish.Check(finish.Assessment{Material: finish.SolidWood, Species: "beech"}, []finish.Step{sand(120)})
	if err != nil || len(findings) != 1 || !strings.Contains(findings[0].String(), "step 1") || !strings.Contains(findings[0].String(), "Clean and degrease") {
		t.Errorf("findings %v, %v", findings, err)
	}
}

// Common practice, as makers and finishers agree on it.
func TestBond(t *testing.T) {
	link := func(below, above finish.Family) finish.Link {
		l, err := finish.Bond(below, above)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	for _, f := range finish.Families() {
		if l := link(finish.Wax, f); (l == finish.Bonds) != (f == finish.Wax) || (l == finish.Never) == (f == finish.Wax) {
			t.Errorf("%s over wax: %s", f, l)
		}
		if l := link(f, finish.Wax); l != finish.Bonds {
			t.Errorf("wax over %s: %s", f, l)
		}
		if l := link(f, finish.DewaxedShellac); f != finish.Wax && l != finish.Bonds && l != finish.Scuffed {
			t.Errorf("dewaxed shellac over %s: %s, and it should hold on all", f, l)
		}
		if l := link(finish.DewaxedShellac, f); f != finish.DryingOil && l != finish.Bonds && l != finish.Scuffed {
			t.Errorf("%s over dewaxed shellac: %s", f, l)
		}
	}
	for _, c := range []struct {
		below, above finish.Family
		want         finish.Link
	}{
		{finish.OilVarnish, finish.NitroLacquer, finish.Tied}, {finish.Shellac, finish.OilPolyurethane, finish.Tied}, {finish.Shellac, finish.WaterPolyurethane, finish.Tied},
		{finish.NitroLacquer, finish.NitroLacquer, finish.Bonds}, {finish.OilVarnish, finish.WaterAcrylic, finish.Cured}, {finish.NitroLacquer, finish.CatalysedLacquer, finish.Never},
		{finish.OilVarnish, finish.DryingOil, finish.Never}, {finish.MilkPaint, finish.DryingOil, finish.Bonds}, {finish.OilVarnish, finish.OilVarnish, finish.Scuffed},
	} {
		if got := link(c.below, c.above); got != c.want {
			t.Errorf("%s over %s: %s, want %s", c.above, c.below, got, c.want)
		}
	}
	for _, pair := range [][2]finish.Family{{"jam", finish.Wax}, {finish.Wax, "jam"}} {
		if l, err := finish.Bond(pair[0], pair[1]); !fault.Is(err, "FAMILY_UNKNOWN") || l != "" {
			t.Errorf("Bond(%v) = %q, %v, want FAMILY_UNKNOWN", pair, l, err)
		}
	}
}

func TestCheck_Refuses(t *testing.T) {
	wood := finish.Assessment{Material: finish.SolidWood}
	bad := func(change func(*finish.Product)) []finish.Step {
		s := coat(finish.TopcoatCoat, finish.OilVarnish)
		change(&s.Product)
		return []finish.Step{s}
	}
	for name, c := range map[string]struct {
		steps  []finish.Step
		reason string
	}{
		"Grit":   {[]finish.Step{{Kind: finish.Sand, Grit: finish.P(121)}}, "GRIT_UNKNOWN"},
		"Family": {bad(func(p *finish.Product) { p.Family = "jam" }), "FAMILY_UNKNOWN"},
		"Recoat": {bad(func(p *finish.Product) { p.Recoat = -1 }), "OUT_OF_RANGE"},
		"Closes": {bad(func(p *finish.Product) { p.RecoatCloses = time.Hour }), "OUT_OF_RANGE"},
		"Cure":   {bad(func(p *finish.Product) { p.Cure = time.Hour }), "OUT_OF_RANGE"},
		"Long":   {slices.Repeat(do(finish.Clean), 201), "PLAN_TOO_LONG"},
	} {
		if _, err := finish.Check(wood, c.steps); !fault.Is(err, c.reason) {
			t.Errorf("%s: Check = %v, want %s", name, err, c.reason)
		}
		if _, err := finish.Complete(wood, c.steps); !fault.Is(err, c.reason) {
			t.Errorf("%s: Complete = %v, want %s", name, err, c.reason)
		}
	}
}
