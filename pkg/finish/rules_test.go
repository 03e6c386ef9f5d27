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

// Each rule finds the plan that breaks it, and the last step but one of each case is where.
func TestCheck_EveryRuleFindsItsBreach(t *testing.T) {
	wood := finish.Assessment{Material: finish.SolidWood, Species: "beech"}
	of := func(species string) finish.Assessment {
		return finish.Assessment{Material: finish.SolidWood, Species: species}
	}
	old := func(f finish.Family, lead finish.Lead) finish.Assessment {
		return finish.Assessment{Material: finish.SolidWood, Species: "beech", OldFinish: f, Lead: lead}
	}
	early := coat(finish.TopcoatCoat, finish.OilVarnish)
	early.Wait = time.Hour
	window := coat(finish.TopcoatCoat, finish.TwoPart)
	window.Product.RecoatCloses, window.Wait = 6*time.Hour, 20*time.Hour
	lightPaint := finish.Step{Kind: finish.PaintCoat, Product: *light(finish.WaterAcrylic)}
	cases := map[string]struct {
		a     finish.Assessment
		steps []finish.Step
	}{
		"lead-untested":        {old(finish.OilVarnish, finish.LeadUntested), append(do(finish.Clean), scuff(320))},
		"lead-dry-sanding":     {old(finish.OilVarnish, finish.LeadFound), append(do(finish.Clean), scuff(320))},
		"clean-first":          {wood, []finish.Step{sand(120)}},
		"stain-bare-wood":      {old(finish.Shellac, finish.LeadFree), append(do(finish.Clean), coat(finish.StainCoat, finish.OilVarnish))},
		"stain-under-film":     {wood, prepared(coat(finish.TopcoatCoat, finish.OilVarnish), coat(finish.StainCoat, finish.OilVarnish))},
		"stain-wood-only":      {finish.Assessment{Material: finish.MDF}, prepared(coat(finish.StainCoat, finish.OilVarnish))},
		"wash-after-strip":     {wood, append(do(finish.Strip), sand(120))},
		"dry-wood":             {wood, append(do(finish.Strip, finish.WashOff), sand(120))},
		"laminate-sanding":     {finish.Assessment{Material: finish.Laminate}, append(do(finish.Clean), sand(180))},
		"thin-veneer":          {finish.Assessment{Material: finish.Veneer, VeneerMM: 0.5}, append(do(finish.Clean), sand(120))},
		"sand-bare-wood":       {wood, append(do(finish.Clean), coat(finish.TopcoatCoat, finish.OilVarnish))},
		"grit-before-stain":    {wood, append(do(finish.Clean), sand(120), finish.Step{Kind: finish.DustOff}, coat(finish.StainCoat, finish.OilVarnish))},
		"raise-grain":          {wood, prepared(coat(finish.TopcoatCoat, finish.WaterPolyurethane))},
		"dust-off":             {wood, append(do(finish.Clean), sand(180), coat(finish.TopcoatCoat, finish.OilVarnish))},
		"bleed-through":        {of("oak"), prepared(lightPaint)},
		"recoat-too-early":     {wood, prepared(early, scuff(320))},
		"never-over":           {wood, prepared(coat(finish.WaxCoat, finish.Wax), coat(finish.TopcoatCoat, finish.OilVarnish))},
		"never-over-old":       {old(finish.TwoPart, finish.LeadFree), append(do(finish.Clean), coat(finish.OilCoat, finish.DryingOil))},
		"tie-coat":             {wood, prepared(coat(finish.TopcoatCoat, finish.OilVarnish), scuff(320), finish.Step{Kind: finish.DustOff}, coat(finish.TopcoatCoat, finish.NitroLacquer))},
		"cured-below":          {wood, prepared(coat(finish.TopcoatCoat, finish.OilVarnish), scuff(320), finish.Step{Kind: finish.DustOff}, coat(finish.TopcoatCoat, finish.WaterPolyurethane))},
		"scuff-between":        {wood, prepared(window, window)},
		"scuff-smooth":         {finish.Assessment{Material: finish.Metal}, append(do(finish.Clean), coat(finish.PaintCoat, finish.OilVarnish))},
		"grit-between-coats":   {wood, prepared(coat(finish.TopcoatCoat, finish.OilVarnish), scuff(220))},
		"scuff-through-colour": {wood, prepared(coat(finish.StainCoat, finish.OilVarnish), scuff(320))},
		"cure-before-use":      {wood, prepared(coat(finish.TopcoatCoat, finish.OilVarnish), finish.Step{Kind: finish.HardwareOn})},
		"oily-wood":            {of("teak"), prepared(coat(finish.TopcoatCoat, finish.OilVarnish))},
		"blotching":            {of("pine"), prepared(coat(finish.StainCoat, finish.OilVarnish))},
		"open-pores":           {of("ash"), prepared(coat(finish.TopcoatCoat, finish.OilVarnish))},
		"grit-sequence":        {wood, append(do(finish.Clean), sand(80), sand(220))},
	}
	for _, r := range finish.Rules() {
		c, there := cases[r.ID]
		if !there {
			t.Errorf("no case breaks %s", r.ID)
			continue
		}
		findings, err := finish.Check(c.a, c.steps)
		at := slices.IndexFunc(findings, func(f finish.Finding) bool { return f.Rule.ID == r.ID })
		if err != nil || at < 0 || findings[at].Step != len(c.steps)-1 {
			t.Errorf("%s: %v, %v, want it at the last step", r.ID, findings, err)
		}
		if r.Says == "" || r.Why == "" || r.Instead == "" || !slices.Contains([]finish.Severity{finish.Stop, finish.Caution, finish.Note}, r.Severity) {
			t.Errorf("%s explains itself badly: %+v", r.ID, r)
		}
		if explained, err := finish.ExplainRule(r.ID); err != nil || explained.Says != r.Says {
			t.Errorf("ExplainRule(%s) = %v, %v", r.ID, explained.Says, err)
		}
	}
	if len(cases) != len(finish.Rules()) {
		t.Errorf("%d cases for %d rules", len(cases), len(finish.Rules()))
	}
	if _, err := finish.ExplainRule("common-sense"); !fault.Is(err, "RULE_UNKNOWN") {
		t.Errorf("ExplainRule = %v, want RULE_UNKNOWN", err)
	}
}

// A plan that is as it should be has nothing against it.
func TestCheck_Clean(t *testing.T) {
	steps := prepared(coat(finish.TopcoatCoat, finish.Shellac), coat(finish.TopcoatCoat, finish.Shellac), finish.Step{Kind: finish.Cure, Wait: 72 * time.Hour}, finish.Step{Kind: finish.HardwareOn})
	findings, err := finish.Check(finish.Assessment{Material: finish.SolidWood, Species: "beech"}, steps)
	if err != nil || len(findings) > 0 {
		t.Errorf("Check = %v, %v, want nothing", findings, err)
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
