package finish_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

type breach struct {
	a     finish.Assessment
	steps []finish.Step
}

// breaches has for each rule of the steps what breaks it, at the last of them.
func breaches() map[string]breach {
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
	polished := wood
	polished.Waxed = true
	thick := coat(finish.TopcoatCoat, finish.OilVarnish)
	thick.Product.SolidsPercent, thick.Product.DryFilmUm = 20, 50
	broken := func(d finish.Defect) finish.Assessment {
		return finish.Assessment{Material: finish.SolidWood, Species: "beech", Defects: []finish.Defect{d}}
	}
	laminate, metal := finish.Assessment{Material: finish.Laminate}, finish.Assessment{Material: finish.Metal}
	taped := func(last ...finish.Step) []finish.Step {
		return prepared(append([]finish.Step{coat(finish.PaintCoat, finish.Shellac), {Kind: finish.Mask}, coat(finish.PaintCoat, finish.Shellac)}, last...)...)
	}
	film := coat(finish.TopcoatCoat, finish.OilVarnish)
	return map[string]breach{
		"glue-before-finish":   {broken(finish.LooseJoint), append(do(finish.Clean), sand(120))},
		"dry-time":             {wood, append(do(finish.Strip, finish.WashOff), finish.Step{Kind: finish.DryOut, Wait: 23 * time.Hour})},
		"unmask-soft":          {wood, taped(finish.Step{Kind: finish.Unmask})},
		"scuff-tape":           {wood, taped(scuff(320))},
		"odour-sealed":         {broken(finish.Odour), prepared(film)},
		"milk-paint":           {wood, prepared(film, coat(finish.PaintCoat, finish.MilkPaint))},
		"laminate-primer":      {laminate, append(do(finish.Clean), scuff(320), coat(finish.PaintCoat, finish.Latex))},
		"metal-primer":         {metal, append(do(finish.Clean), scuff(320), coat(finish.TopcoatCoat, finish.WaterPolyurethane))},
		"metal-rust":           {metal, append(do(finish.Clean), scuff(320), coat(finish.Prime, finish.OilVarnish))},
		"veneer-repaired":      {broken(finish.VeneerChip), append(do(finish.Clean), sand(120))},
		"fill-before-sanding":  {broken(finish.Dents), append(do(finish.Clean), sand(120))},
		"filler-sanded":        {old(finish.Shellac, finish.LeadFree), append(do(finish.Clean, finish.Fill), coat(finish.TopcoatCoat, finish.Shellac))},
		"filler-stain":         {broken(finish.Holes), prepared(coat(finish.StainCoat, finish.OilVarnish))},
		"marks":                {broken(finish.WaterRing), prepared(film)},
		"scuff-bare-wood":      {wood, append(do(finish.Clean), scuff(320))},
		"scuff-grit":           {old(finish.Shellac, finish.LeadFree), append(do(finish.Clean), scuff(150))},
		"grit-before-film":     {wood, append(do(finish.Clean), sand(100), film)},
		"solvent-wipe":         {of("teak"), prepared(film)},
		"oily-wood-oil":        {of("rosewood"), prepared(coat(finish.OilCoat, finish.DryingOil))},
		"wood-unknown":         {finish.Assessment{Material: finish.SolidWood}, prepared(film)},
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
		"liming-pores":         {of("maple"), prepared(coat(finish.LimingCoat, finish.WaterAcrylic))},
		"pores-opened":         {of("oak"), prepared(coat(finish.SealCoat, finish.DewaxedShellac), coat(finish.LimingCoat, finish.WaterAcrylic))},
		"liming-seal":          {of("oak"), prepared(finish.Step{Kind: finish.OpenPores}, coat(finish.LimingCoat, finish.OilVarnish))},
		"wipe-off":             {of("ash"), prepared(coat(finish.LimingCoat, finish.Wax), coat(finish.WaxCoat, finish.Wax))},
		"veneer-left":          {finish.Assessment{Material: finish.Veneer, VeneerMM: 0.4}, append(do(finish.Clean), sand(150), sand(180), sand(220))},
		"knots":                {of("pine"), prepared(finish.Step{Kind: finish.PaintCoat, Product: *light(finish.OilVarnish)})},
		"silicone":             {polished, prepared(coat(finish.TopcoatCoat, finish.NitroLacquer))},
		"ebonise-tannin":       {of("maple"), prepared(coat(finish.Ebonise, finish.WaterAcrylic))},
		"mask-dry":             {wood, prepared(coat(finish.PaintCoat, finish.OilVarnish), finish.Step{Kind: finish.Mask})},
		"unmask":               {wood, prepared(coat(finish.PaintCoat, finish.Shellac), finish.Step{Kind: finish.Mask}, coat(finish.TopcoatCoat, finish.Shellac))},
		"glaze-sealed":         {wood, prepared(coat(finish.GlazeCoat, finish.OilVarnish))},
		"hot-solvent":          {wood, prepared(coat(finish.StainCoat, finish.OilVarnish), coat(finish.TopcoatCoat, finish.CatalysedLacquer))},
		"rub-out-cured":        {wood, prepared(coat(finish.TopcoatCoat, finish.OilVarnish), coat(finish.WaxCoat, finish.Wax))},
		"thick-coat":           {wood, prepared(thick)},
		"adhesion-test":        {laminate, append(do(finish.Clean), scuff(320), coat(finish.Prime, finish.OilVarnish), finish.Step{Kind: finish.Inspect, Point: finish.PointFilm}, scuff(320))},
	}
}

// pieceBreaches has for each rule of the whole piece the stages that break it, at the last.
func pieceBreaches() map[string][]finish.Stage {
	stain := coat(finish.StainCoat, finish.OilVarnish)
	finer := append(do(finish.Clean), sand(120), sand(180), sand(220), finish.Step{Kind: finish.DustOff})
	return map[string][]finish.Stage{
		"match-grit": slices.Concat(stagesOf("left", prepared(stain)...), stagesOf("right", append(finer, stain)...)),
		"film-check": append(stagesOf("left", prepared(coat(finish.TopcoatCoat, finish.OilVarnish))...),
			finish.Stage{Key: "film-check", Step: finish.Step{Kind: finish.Inspect, Point: finish.PointFilm}}, // after no coat
			finish.Stage{Key: "wrap-up", Step: finish.Step{Kind: finish.WrapUp}, Needs: finish.NeedsCured, After: []int{4, 5}}),
		"hardware-check": {{Key: "hardware-check", Step: finish.Step{Kind: finish.Inspect, Point: finish.PointHardware}}, // before it
			{Key: "hardware-on", Step: finish.Step{Kind: finish.HardwareOn}, After: []int{0}}},
		"colour-match": slices.Concat(stagesOf("right", prepared(stain)...), stagesOf("left", prepared(stain, finish.Step{Kind: finish.Cure, Wait: 72 * time.Hour}, coat(finish.TopcoatCoat, finish.OilVarnish))...)),
	}
}

// pair is two parts that are seen together.
func pair() []finish.Part {
	wood := finish.Assessment{Material: finish.SolidWood, Species: "beech"}
	return []finish.Part{{Label: "left", AreaM2: 1, Assessment: wood, MatchGroup: "doors"}, {Label: "right", AreaM2: 1, Assessment: wood, MatchGroup: "doors"}}
}

// stagesOf are steps as stages of a part, in the order in which they stand.
func stagesOf(part string, steps ...finish.Step) (all []finish.Stage) {
	for _, st := range steps {
		all = append(all, finish.Stage{Part: part, Key: string(st.Kind), Step: st})
	}
	return all
}

// Each rule finds the plan that breaks it, there where it does; those that only somebody at
// the piece can judge are found by no check, but explain themselves all the same.
func TestCheck_EveryRuleFindsItsBreach(t *testing.T) {
	steps, pieces := breaches(), pieceBreaches()
	floor := 0
	for _, r := range finish.Rules() {
		explains(t, r)
		b, ofPart := steps[r.ID]
		stages, ofPiece := pieces[r.ID]
		switch {
		case r.Floor:
			floor++
			if ofPart || ofPiece || r.HasRemedy() {
				t.Errorf("%s is for the shop floor alone", r.ID)
			}
		case ofPart:
			findings, err := finish.Check(b.a, b.steps)
			at := slices.IndexFunc(findings, func(f finish.Finding) bool { return f.Rule.ID == r.ID })
			if err != nil || at < 0 || findings[at].Step != len(b.steps)-1 {
				t.Errorf("%s: %v, %v, want it at the last step", r.ID, findings, err)
			}
		case ofPiece:
			if findings, err := finish.CheckPiece(pair(), stages); err != nil || !slices.Equal(broken(findings, r.Severity), []string{r.ID}) || findings[0].Stage != len(stages)-1 {
				t.Errorf("%s: %v, %v, want it at the last stage", r.ID, findings, err)
			}
		default:
			t.Errorf("no case breaks %s", r.ID)
		}
	}
	if len(steps)+len(pieces)+floor != len(finish.Rules()) {
		t.Errorf("%d, %d and %d cases for %d rules", len(steps), len(pieces), floor, len(finish.Rules()))
	}
	if _, err := finish.ExplainRule("common-sense"); !fault.Is(err, "RULE_UNKNOWN") {
		t.Errorf("ExplainRule = %v, want RULE_UNKNOWN", err)
	}
}

func explains(t *testing.T, r finish.Rule) {
	t.Helper()
	if r.Says == "" || r.Why == "" || r.Instead == "" || r.Source == "" || !slices.Contains([]finish.Severity{finish.Stop, finish.Caution, finish.Note}, r.Severity) {
		t.Errorf("%s explains itself badly: %+v", r.ID, r)
	}
	if explained, err := finish.ExplainRule(r.ID); err != nil || explained.Says != r.Says || explained.Source != r.Source {
		t.Errorf("ExplainRule(%s) = %v, %v", r.ID, explained.Says, err)
	}
}

// broken are the rules that are broken, those of at least a severity.
func broken(findings []finish.PieceFinding, least finish.Severity) (ids []string) {
	grave := []finish.Severity{finish.Stop, finish.Caution, finish.Note}
	for _, f := range findings {
		if slices.Index(grave, f.Rule.Severity) <= slices.Index(grave, least) {
			ids = append(ids, f.Rule.ID)
		}
	}
	return ids
}
