package workflow_test

import (
	"math"
	"slices"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// laidOut are the stages of one part, and of the whole piece, by their keys.
func laidOut(t *testing.T, steps ...workflow.Step) map[string]workflow.Stage {
	t.Helper()
	route := workflow.Route{Word: "x", Steps: steps}
	if err := route.Check(); err != nil {
		t.Fatal(err)
	}
	stages, err := workflow.LayOut(id.New(), []workflow.PartRoute{{Part: top, Label: "top", Route: route}}, id.New)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]workflow.Stage{}
	for _, s := range stages {
		out[s.Key] = s
	}
	return out
}

// What makes dust, debris or fumes of an old coating waits for a test for lead, under whatever
// name a shop has for it, and warns of dust and of lead.
func TestLayOut_KindsThatDisturbAnOldCoating(t *testing.T) {
	for kind, want := range map[finish.Kind]bool{
		finish.Sand: true, finish.ScuffSand: true, finish.Strip: true, finish.Scrape: true, finish.OpenPores: true,
		"hand_sanding": true, "resand": true, "dry_scraping": true, "strip_dry": true, "grinding": true, "plane_flat": true, "planing": true,
		"abrade": true, "steel_wool": true, "bead_blast": true, "heat_gun": true, "burn_off": true, "torching": true, "scuffing": true, "rub_down_wet_and_dry": true, "wire_brush": true, "milling": true,
		finish.Clean: false, finish.DustOff: false, finish.TopcoatCoat: false, finish.Inspect: false, finish.WashOff: false, "steel_brackets_on": false, "polish": false, finish.WaxCoat: false,
	} {
		s := laidOut(t, part(string(kind)))[string(kind)]
		if s.DisturbsOld != want {
			t.Errorf("%s disturbs an old coating: %v, want %v", kind, s.DisturbsOld, want)
		}
		if got := slices.Contains(s.Cautions, "lead"); got != want {
			t.Errorf("%s warns of %v, lead among them: want %v", kind, s.Cautions, want)
		}
		if want && kind != finish.Strip && !slices.Contains(s.Cautions, "dust") {
			t.Errorf("%s warns of %v, want dust too", kind, s.Cautions)
		}
	}
}

// An old coating is gone for what comes after the stripping, however far. What is only written
// down after it can be done before it. A coat of ours covers it from dulling alone.
func TestLayOut_OldCoatingsAreGoneBehindTheStrip(t *testing.T) {
	coat := func(after ...string) workflow.Step {
		return workflow.Step{Key: "coat", Kind: "topcoat_coat", Scope: workflow.OnPart, After: after}
	}
	for _, c := range []struct {
		name  string
		steps []workflow.Step
		want  bool // sanding disturbs the old coating
	}{
		{"Behind", []workflow.Step{part("strip"), part("sand", "strip")}, false},
		{"FarBehind", []workflow.Step{part("strip"), part("neutralise", "strip"), whole("look", "neutralise"), part("sand", "look")}, false},
		{"BehindACoat", []workflow.Step{coat(), part("sand", "coat")}, true},
		{"BehindTheStripOfAllParts", []workflow.Step{whole("strip"), part("sand", "strip")}, false},
		{"Beside", []workflow.Step{part("strip"), part("sand")}, true},
		{"BesideACoat", []workflow.Step{coat(), part("clean"), part("sand", "clean")}, true},
		{"Before", []workflow.Step{part("sand"), part("strip", "sand")}, true},
		{"AllPartsBehindOne", []workflow.Step{part("strip"), whole("sand", "strip")}, true},
	} {
		sand := laidOut(t, c.steps...)["sand"]
		if warns := slices.Contains(sand.Cautions, "lead"); sand.DisturbsOld != c.want || warns != c.want {
			t.Errorf("%s: sanding disturbs an old coating: %v, warns of lead: %v, want %v", c.name, sand.DisturbsOld, warns, c.want)
		}
	}
}

// Dulling a coat of ours does not reach the paint below it; sanding and stripping do.
func TestLayOut_ACoatCoversTheOldOne(t *testing.T) {
	stages := laidOut(t, part("prime"), part("scuff_sand", "prime"), part("strip", "prime"))
	if s := stages["scuff_sand"]; s.DisturbsOld || slices.Contains(s.Cautions, "lead") {
		t.Errorf("dulling the primer disturbs the old coating: %+v", s.Finish)
	}
	if s := stages["strip"]; !s.DisturbsOld || !slices.Contains(s.Cautions, "lead") {
		t.Errorf("stripping the primer leaves the old coating alone: %+v", s.Finish)
	}
}

// Nobody lays a film of less than 1 µm or more than 5000 µm, and an inspection lays none.
func TestStage_CheckFilm(t *testing.T) {
	coat, look := stageOn(top, finish.TopcoatCoat), stageOn(top, finish.Inspect)
	own := stageOn(top, "shop_coat")
	own.Coating = &workflow.Coating{}
	for _, s := range []workflow.Stage{coat, look, own} {
		if err := s.CheckFilm(0); err != nil {
			t.Errorf("%s as planned = %v", s.Title(), err)
		}
		for _, um := range []float64{-7, math.NaN(), 0.5, 5001, math.Inf(1)} {
			err := s.CheckFilm(um)
			refusedWords(t, err, "OUT_OF_RANGE", "wet film", "1 µm to 5000 µm")
			if f := fault.Of(err); f.Fields[0].Path != "wet_film_um" {
				t.Errorf("%s of %v µm is refused at %v", s.Title(), um, f.Fields)
			}
		}
	}
	for _, um := range []float64{1, 80, 5000} {
		if err := coat.CheckFilm(um); err != nil {
			t.Errorf("a coat of %v µm = %v", um, err)
		}
		if err := own.CheckFilm(um); err != nil {
			t.Errorf("a coat of the shop's own kind, of %v µm = %v", um, err)
		}
		refusedWords(t, look.CheckFilm(um), "OUT_OF_RANGE", "this stage leaves no film", "inspect (top)", "Leave it out")
	}
}
