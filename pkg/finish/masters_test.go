package finish_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// what are the steps by kind, and grade or point where they have one.
func what(steps []finish.Step) string {
	var all []string
	for _, s := range steps {
		text := string(s.Kind)
		if s.Grit != (finish.Grit{}) {
			text += " " + s.Grit.String()
		}
		if s.Point != "" {
			text += " " + string(s.Point)
		}
		all = append(all, text)
	}
	return strings.Join(all, ", ")
}

func solid(species string) finish.Assessment {
	return finish.Assessment{Material: finish.SolidWood, Species: species}
}

// Nobody painted anything in the year 78, nor will in the year 3000.
func TestAssessment_PaintedIn(t *testing.T) {
	for year, good := range map[int]bool{0: true, 1600: true, 1977: true, 2200: true, 1599: false, 2201: false, -1: false, 78: false} {
		a := solid("beech")
		a.PaintedIn = year
		_, err := finish.Check(a, nil)
		if f := fault.Of(err); (err == nil) != good || !good && (f == nil || f.Reason != "OUT_OF_RANGE" || f.Fields[0].Path != "painted in") {
			t.Errorf("painted in %d: %v", year, err)
		}
	}
}

// A coating of which no time is known makes no plan that waits for nothing.
func TestPlan_TimesNotStated(t *testing.T) {
	for name, forget := range map[string]func(*finish.Product){
		"until it takes another coat": func(p *finish.Product) { p.Recoat = 0 }, "until it has cured": func(p *finish.Product) { p.Cure = 0 },
	} {
		paint, primer := product(finish.OilVarnish), product(finish.OilVarnish)
		paint.Name, primer.Name = "cream paint", "grey primer"
		forget(paint)
		forget(primer)
		mdf := finish.Assessment{Material: finish.MDF}
		step := finish.Step{Kind: finish.PaintCoat, Product: *paint}
		_, planned := finish.PlanPart(mdf, finish.Wanted{Look: finish.Painted}, finish.Palette{Paint: paint})
		_, primed := finish.PlanPart(mdf, finish.Wanted{Look: finish.Painted}, finish.Palette{Paint: product(finish.OilVarnish), Primer: primer})
		_, completed := finish.Complete(mdf, []finish.Step{step})
		_, checked := finish.CheckPiece([]finish.Part{{Label: "back", Assessment: mdf}}, stagesOf("back", step))
		for what, err := range map[string]error{"cream paint": planned, "grey primer": primed, "cream paint ": completed, " cream paint": checked} {
			if f := fault.Of(err); f == nil || f.Reason != "NOT_STATED" || !strings.Contains(f.Text, strings.TrimSpace(what)) || !strings.Contains(f.Text, name) {
				t.Errorf("%q %s: %v, want NOT_STATED", what, name, err)
			}
		}
	}
}

// Oil that cures for 21 days under wax that does in one; alkyd paint under quick shellac:
// what is handled, rubbed out or laid on cured films waits for the slowest below.
func TestPlanPiece_AllCoatsCure(t *testing.T) {
	oil, wax, alkyd, shellac := product(finish.DryingOil), product(finish.Wax), product(finish.OilVarnish), product(finish.Shellac)
	oil.Cure, wax.Cure, alkyd.Cure, shellac.Cure = 21*24*time.Hour, 24*time.Hour, 7*24*time.Hour, 24*time.Hour
	stages := planPiece(t, []finish.Part{
		{Label: "seat", AreaM2: 1, Assessment: solid("beech"), Wanted: finish.Wanted{Look: finish.Oiled, Coats: 1, Waxed: true}},
		{Label: "case", AreaM2: 1, Assessment: solid("beech"), Wanted: finish.Wanted{Look: finish.Painted, Coats: 1, Topcoats: 1, Waxed: true}},
	}, finish.Palette{Oil: oil, Wax: wax, Paint: alkyd, Topcoat: shellac})
	seat, topcoat := find(t, stages, "wax (seat)"), find(t, stages, "topcoat (case)")
	if seat.Step.Wait != oil.Cure-oil.Recoat || topcoat.Step.Wait != alkyd.Cure-alkyd.Recoat || find(t, stages, "wax (case)").Needs != finish.NeedsCured {
		t.Errorf("the seat waits %v, the case %v before it is waxed", seat.Step.Wait, topcoat.Step.Wait)
	}
	steps := prepared(coat(finish.TopcoatCoat, finish.Shellac), finish.Step{Kind: finish.Cure, Wait: 24 * time.Hour}, finish.Step{Kind: finish.HardwareOn})
	steps[4].Product = *shellac
	under := slices.Insert(slices.Clone(steps), 4, finish.Step{Kind: finish.PaintCoat, Product: *alkyd, Wait: 4 * time.Hour}, scuff(320), finish.Step{Kind: finish.DustOff})
	for name, c := range map[string]struct {
		steps []finish.Step
		found bool
	}{"ShellacAlone": {steps, false}, "AlkydUnderIt": {under, true}} {
		findings, err := finish.Check(solid("beech"), c.steps)
		if found := slices.ContainsFunc(findings, func(f finish.Finding) bool { return f.Rule.ID == "cure-before-use" }); err != nil || found != c.found {
			t.Errorf("%s: %v, %v", name, findings, err)
		}
	}
}

// Lead was found under what is to be white: the old coating comes off wet, and then the bare
// wood is sanded and not scuffed as if a film were there.
func TestPlanPart_WhatIsNoLongerAskedFor(t *testing.T) {
	pine := solid("pine")
	pine.OldFinish, pine.Lead = finish.OilVarnish, finish.LeadFound
	steps := plan(t, pine, finish.Wanted{Look: finish.Painted, Coats: 1}, finish.Palette{Paint: light(finish.WaterAcrylic)})
	want := "clean_and_degrease, strip, neutralise_or_wash_off, dry_out, sand P100, sand P150, sand P180, dust_off, block_stains, scuff_sand P320, dust_off, paint_coat, cure, hardware_on"
	if got := what(steps); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if why := steps[1].Why; !strings.Contains(why, "dwells") || !strings.Contains(why, "repeated") {
		t.Errorf("of stripping it says %q", why)
	}
}

// Of a coating that nobody knows the worst is expected: lead, and that nothing holds on it
// without a tie coat.
func TestPlanPart_NobodyKnowsTheOldCoating(t *testing.T) {
	old := solid("beech")
	old.OldFinish = finish.UnknownFinish
	steps := plan(t, old, finish.Wanted{Look: finish.Painted, Coats: 1}, finish.Palette{Paint: product(finish.WaterAcrylic)})
	want := "clean_and_degrease, lead_test, scuff_sand P320, dust_off, tie_coat, inspect adhesion, scuff_sand P320, dust_off, paint_coat, cure, hardware_on"
	if got := what(steps); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if _, err := finish.Bond(finish.UnknownFinish, finish.Latex); !fault.Is(err, "FAMILY_UNKNOWN") {
		t.Errorf("Bond of an unknown family = %v", err)
	}
	if _, err := finish.PlanPart(old, finish.Wanted{Look: finish.Painted}, finish.Palette{Paint: product(finish.UnknownFinish)}); !fault.Is(err, "FAMILY_UNKNOWN") {
		t.Errorf("paint of an unknown family = %v", err)
	}
}

// Of a coating that nobody tested a plan says what it rests on.
func TestPlanPart_IfTheTestFindsNoLead(t *testing.T) {
	old := solid("beech")
	old.OldFinish, old.Defects = finish.OilVarnish, []finish.Defect{finish.VeneerChip}
	says := func() (all []bool) {
		for _, s := range plan(t, old, finish.Wanted{Look: finish.Painted}, finish.Palette{Paint: product(finish.OilVarnish)}) {
			if s.Kind == finish.ScuffSand || s.Kind == finish.VeneerRepair {
				all = append(all, strings.Contains(s.Why, "only if the test finds no lead") && strings.Contains(s.Why, "amended"))
			}
		}
		return all
	}
	if got := says(); !slices.Equal(got, []bool{true, true, false}) {
		t.Errorf("untested, the patch, the first and the second scuffing say so: %v", got)
	}
	old.Lead = finish.LeadFree
	if got := says(); !slices.Equal(got, []bool{false, false, false}) {
		t.Errorf("tested, they say so: %v", got)
	}
}

// Stripped wood still holds lead in its grain, of which sanding says what to do; a film of
// our own above it does not. What lies there still is not sanded dry.
func TestPlanPiece_LeadCautions(t *testing.T) {
	old := solid("oak")
	old.OldFinish = finish.OilVarnish
	stages := planPiece(t, []finish.Part{
		{Label: "top", AreaM2: 1, Assessment: old, Wanted: finish.Wanted{Look: finish.Limewashed, Topcoats: 2}},
		{Label: "case", AreaM2: 1, Assessment: old, Wanted: finish.Wanted{Look: finish.Painted}},
	}, finish.Palette{Liming: light(finish.WaterAcrylic), Topcoat: product(finish.WaterPolyurethane), Paint: product(finish.OilVarnish)})
	for title, want := range map[string]string{"strip (top)": "stripper lead", "sand (top)": "dust lead-residue", "open-pores (top)": "dust lead-residue", "scuff-sand (top)": "dust", "scuff-sand (case)": "dust lead"} {
		var ids []string
		for _, h := range find(t, stages, title).Hazards {
			ids = append(ids, h.ID)
		}
		if got := strings.Join(ids, " "); got != want {
			t.Errorf("%s has cautions %q, want %q", title, got, want)
		}
	}
	h, known := finish.FindHazard("lead-residue")
	if !known || strings.Contains(h.Text, "No dry sanding") || !strings.Contains(h.Text, "HEPA") || !strings.Contains(h.Text, "local codes") {
		t.Errorf("of the residue it says %+v", h)
	}
}

// All that makes dust or debris of an old coating waits for the test.
func TestCheck_WhatDisturbsLead(t *testing.T) {
	old := solid("oak")
	old.OldFinish = finish.OilVarnish
	for k, want := range map[finish.Kind]bool{finish.Strip: true, finish.Scrape: true, finish.OpenPores: true, finish.VeneerRepair: true, finish.Clean: false} {
		findings, err := finish.Check(old, do(finish.Clean, k))
		if got := slices.ContainsFunc(findings, func(f finish.Finding) bool { return f.Rule.ID == "lead-untested" }); err != nil || got != want || k.Disturbs() != want {
			t.Errorf("%s waits for the test: %v, %v", k, got, err)
		}
		old.Lead = finish.LeadFound
		findings, err = finish.Check(old, do(finish.Clean, k))
		if got := slices.ContainsFunc(findings, func(f finish.Finding) bool { return f.Rule.ID == "lead-dry-sanding" }); err != nil || got != (want && k != finish.Strip) {
			t.Errorf("%s is done on lead: %v, %v", k, got, err)
		}
		old.Lead = finish.LeadUntested
	}
	old.Defects = []finish.Defect{finish.LooseJoint, finish.Holes}
	steps := plan(t, old, finish.Wanted{Look: finish.Painted}, finish.Palette{Paint: product(finish.OilVarnish)})
	if !inOrder(steps, finish.LeadTest, finish.GlueClamp, finish.Fill, finish.ScuffSand) {
		t.Errorf("repairs come before the test: %s", what(steps))
	}
}

// White paint on oak goes over shellac, which lifts no fibres.
func TestPlanPart_GrainUnderShellacIsNotRaised(t *testing.T) {
	steps := plan(t, solid("oak"), finish.Wanted{Look: finish.Painted, Coats: 1}, finish.Palette{Paint: light(finish.WaterAcrylic)})
	if slices.Contains(kinds(steps), finish.RaiseGrain) || !inOrder(steps, finish.Sand, finish.BlockStains, finish.PaintCoat) {
		t.Error(what(steps))
	}
}

// Over a glaze of oil a water-borne topcoat gets the shorter of drying time and a tie coat.
func TestPlanPart_CureOrTieCoat(t *testing.T) {
	for name, c := range map[string]struct {
		cure time.Duration
		want finish.Kind
		not  finish.Kind
	}{"CuresTonight": {6 * time.Hour, finish.Cure, finish.TieCoat}, "CuresNextWeek": {7 * 24 * time.Hour, finish.TieCoat, finish.Cure}} {
		glaze := product(finish.OilVarnish)
		glaze.Cure = c.cure
		steps := plan(t, solid("beech"), finish.Wanted{Look: finish.Glazed, Coats: 1, Topcoats: 1}, finish.Palette{Paint: quick(finish.NitroLacquer), Glaze: glaze, Topcoat: product(finish.WaterPolyurethane)})
		at, end := slices.Index(kinds(steps), finish.GlazeCoat), slices.Index(kinds(steps), finish.TopcoatCoat)
		if between := kinds(steps[at:end]); !slices.Contains(between, c.want) || slices.Contains(between, c.not) {
			t.Errorf("%s: %s", name, what(steps))
		}
	}
}

// A stain-blocking alkyd primer takes water-borne paint when it takes a coat; another alkyd
// has to cure, or wants a tie coat.
func TestPlanPart_BlockingPrimerTakesAnyPaint(t *testing.T) {
	for blocks, want := range map[bool]bool{true: false, false: true} {
		primer := product(finish.OilVarnish)
		primer.BlocksStains = blocks
		steps := plan(t, finish.Assessment{Material: finish.MDF}, finish.Wanted{Look: finish.Painted, Coats: 1}, finish.Palette{Paint: product(finish.WaterAcrylic), Primer: primer})
		if got := slices.Contains(kinds(steps), finish.TieCoat); got != want || !inOrder(steps, finish.Prime, finish.ScuffSand, finish.PaintCoat) {
			t.Errorf("blocks stains: %v: %s", blocks, what(steps))
		}
	}
}
