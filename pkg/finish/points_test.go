package finish_test

import (
	"slices"
	"testing"

	"tackfree/pkg/finish"
)

// A first film is tried where nobody can say whether it holds, and where everybody can it is
// not. Common practice.
func TestPlanPart_TriesTheHold(t *testing.T) {
	kept := func(f finish.Family, waxed bool) finish.Assessment {
		return finish.Assessment{Material: finish.SolidWood, Species: "beech", OldFinish: f, Waxed: waxed, Lead: finish.LeadFree}
	}
	p := finish.Palette{Paint: product(finish.OilVarnish), Stain: product(finish.OilVarnish), Topcoat: product(finish.OilVarnish), Oil: product(finish.DryingOil)}
	for name, c := range map[string]struct {
		a    finish.Assessment
		look finish.Look
		want int
	}{
		"BareWood":       {solid("beech"), finish.Painted, 0},
		"KnownOldFilm":   {kept(finish.OilVarnish, false), finish.Painted, 0},
		"PolishedFilm":   {kept(finish.OilVarnish, true), finish.Painted, 1},
		"UnknownFilm":    {kept(finish.UnknownFinish, false), finish.Painted, 1},
		"PolishThatWent": {kept(finish.OilVarnish, true), finish.Stained, 0},
		"Laminate":       {finish.Assessment{Material: finish.Laminate}, finish.Painted, 1},
		"Metal":          {finish.Assessment{Material: finish.Metal}, finish.Clear, 1},
		"OilyWood":       {solid("teak"), finish.Clear, 1},
		"OiledOilyWood":  {solid("teak"), finish.Oiled, 0}, // which has no film
	} {
		tries := 0
		for _, s := range plan(t, c.a, finish.Wanted{Look: c.look, Topcoats: 1}, p) {
			if s.Kind == finish.Inspect && s.Point == finish.PointAdhesion {
				tries++
			}
		}
		if tries != c.want {
			t.Errorf("%s: tried %d times, want %d", name, tries, c.want)
		}
	}
}

// It is tried on the first coat when that is dry, before paper and another coat go over it; also
// where no other coat does.
func TestPlanPiece_TriesTheHoldOfTheFirstCoat(t *testing.T) {
	p := finish.Palette{Paint: product(finish.OilVarnish), Primer: product(finish.OilVarnish), Topcoat: product(finish.NitroLacquer)}
	stages := planPiece(t, []finish.Part{
		{Label: "door", AreaM2: 1, Assessment: finish.Assessment{Material: finish.Laminate}, Wanted: finish.Wanted{Look: finish.Painted}},
		{Label: "plate", AreaM2: 1, Assessment: finish.Assessment{Material: finish.Metal}, Wanted: finish.Wanted{Look: finish.Clear}},
	}, p)
	for part, coat := range map[string]string{"door": "prime (door)", "plate": "topcoat (plate)"} {
		s := find(t, stages, "adhesion-test ("+part+")")
		if s.Step.Kind != finish.Inspect || s.Skill != "inspect" || s.Needs != finish.NeedsRecoat || len(s.After) != 1 || stages[s.After[0]].Title() != coat {
			t.Errorf("%s: %+v", part, s)
		}
	}
	scuffed := find(t, stages, "scuff-sand-2 (door)")
	if !slices.Equal(scuffed.After, []int{stageAt(stages, "adhesion-test (door)")}) {
		t.Errorf("it is scuffed after %v", scuffed.After)
	}
}

func TestPointOf(t *testing.T) {
	for key, want := range map[string]finish.Point{
		"match-colour": finish.PointColour, "match_colour-2": finish.PointColour, "adhesion-test-2": finish.PointAdhesion, "film-check": finish.PointFilm,
		"hardware-check": finish.PointHardware, "inspect": "", "": "",
	} {
		if got := finish.PointOf(key); got != want {
			t.Errorf("PointOf(%s) = %q, want %q", key, got, want)
		}
	}
}
