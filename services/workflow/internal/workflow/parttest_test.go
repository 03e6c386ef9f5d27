package workflow_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// Wood is dry up to two points above what it comes to in its air: at 21.1 °C (70 °F) and
// 50 % that is 9.2 % (Wood Handbook, FPL-GTR-190, table 4-2). Where nobody knows the air,
// because it was read more than four hours before (MIL-HDBK-1110, paragraph 9.6.6) or never, or
// it is frost, 12 % is.
func TestPartTest_Moisture(t *testing.T) {
	room, frost := reading(t, 21.1, 50, 21.1, 0), reading(t, -10, 80, -10, 0)
	for _, c := range []struct {
		percent float64
		air     *workflow.Air
		dry     bool
	}{{11.1, room, true}, {11.4, room, false}, {5, room, true}, {12, nil, true}, {12.1, nil, false}, {12, frost, true}, {12.1, frost, false}} {
		var got workflow.PartTest
		if err := got.Moisture(c.percent, c.air); err != nil || got.Dry != c.dry || got.Kind != workflow.MoistureTest || got.Percent != c.percent {
			t.Errorf("Moisture(%v) = %+v, %v, want dry %v", c.percent, got, err, c.dry)
		}
		if want := map[*workflow.Air]float64{room: 9.2}[c.air]; math.Abs(got.AtRest-want) > 0.07 {
			t.Errorf("wood comes to %v in its air, want %v", got.AtRest, want)
		}
	}
	for minutes, dry := range map[int]bool{240: false, 241: true} { // 11.8 % is dry by the rule of 12 % alone
		test := workflow.PartTest{At: nine}
		if err := test.Moisture(11.8, reading(t, 21.1, 50, 21.1, minutes)); err != nil || test.Dry != dry || (test.AtRest == 0) != dry {
			t.Errorf("by air that was read %d minutes before: %+v, %v, want dry %v", minutes, test, err, dry)
		}
	}
	for _, wrong := range []float64{0, -1, 250.1, math.NaN(), math.Inf(1)} {
		if err := new(workflow.PartTest).Moisture(wrong, nil); reason(err) != "OUT_OF_RANGE" {
			t.Errorf("Moisture(%v) = %v, want OUT_OF_RANGE", wrong, err)
		}
	}
}

func spot(minutes int, solvent, reaction string) workflow.PartTest {
	return workflow.PartTest{Kind: workflow.SpotTest, At: nine.Add(time.Duration(minutes) * time.Minute), Solvent: solvent, Result: reaction}
}

// Spot tests are read together, in the order in which they were made, whenever they were
// written down.
func TestPartTest_Spot(t *testing.T) {
	now := workflow.PartTest{At: nine}
	r, err := now.Spot("mineral spirits", "wax comes off", nil)
	if err != nil || !r.Waxed || r.Next != finish.DenaturedSpirit || now.Said() != "mineral spirits: wax comes off" {
		t.Errorf("Spot = %+v, %v of %q", r, err, now.Said())
	}
	r, err = now.Spot("denatured alcohol", "softens", []workflow.PartTest{spot(-9, "mineral spirits", "none")})
	if err != nil || !slices.Equal(r.Families, []finish.Family{finish.Shellac}) {
		t.Errorf("Spot = %+v, %v, want shellac", r, err)
	}
	r, err = now.Spot("denatured alcohol", "softens", []workflow.PartTest{spot(9, "denatured alcohol", "turns white")})
	if err != nil || !slices.Equal(r.Families, []finish.Family{finish.NitroLacquer}) {
		t.Errorf("Spot before a later one of the same solvent = %+v, %v, want lacquer", r, err)
	}
	if _, err = now.Spot("water", "none", nil); reason(err) != "SOLVENT_UNKNOWN" {
		t.Errorf("Spot = %v, want SOLVENT_UNKNOWN", err)
	}
	if _, err = now.Spot("lacquer thinner", "wax comes off", nil); reason(err) != "REACTION_UNKNOWN" {
		t.Errorf("Spot = %v, want REACTION_UNKNOWN", err)
	}
}

// Who accepts lead says how nobody is harmed, and is of the shop.
func TestPartTest_Lead(t *testing.T) {
	nell := &workflow.Person{ID: id.New(), Name: "Nell"}
	var got workflow.PartTest
	if err := got.Accept(nell, "wet sanding, respirator"); err != nil || got.Said() != "accepted with controls" || got.PersonName != "Nell" || got.Person != nell.ID {
		t.Errorf("Accept = %+v, %v", got, err)
	}
	if err := new(workflow.PartTest).Accept(nell, ""); reason(err) != "CONTROLS_MISSING" {
		t.Errorf("Accept = %v, want CONTROLS_MISSING", err)
	}
	if err := new(workflow.PartTest).Accept(nil, "wet sanding"); reason(err) != "PERSON_NOT_FOUND" {
		t.Errorf("Accept = %v, want PERSON_NOT_FOUND", err)
	}
	for found, want := range map[bool]string{true: "found", false: "free"} {
		var got workflow.PartTest
		if got.Lead(found); got.Said() != want || got.Kind != workflow.LeadTest {
			t.Errorf("Lead(%v) = %+v", found, got)
		}
	}
}

// Wood that a meter found dry is ready since then. Other parts, other things that dry, and
// what was wetted later or had dried before are left alone.
func TestPartTest_Ends(t *testing.T) {
	clock := func(part id.ID, kind workflow.DryKind, laid, over int) workflow.DryClock {
		at := nine.Add(time.Duration(over) * time.Hour)
		return workflow.DryClock{Stage: id.New(), Part: part, Kind: kind, Laid: nine.Add(time.Duration(laid) * time.Hour), Needs: finish.NeedsSand,
			Windows: map[drying.Milestone]drying.Window{drying.Cured: {Early: at, Likely: at, Late: at}}}
	}
	dry := workflow.PartTest{Part: top, Kind: workflow.MoistureTest, At: nine, Dry: true}
	whole, wet := dry, dry
	whole.Part, wet.Dry = id.Nil, false
	for _, c := range []struct {
		name  string
		test  workflow.PartTest
		clock workflow.DryClock
		ends  bool
	}{
		{"Wood", dry, clock(top, workflow.WoodDries, -5, 5), true},
		{"StillWet", wet, clock(top, workflow.WoodDries, -5, 5), false},
		{"AnotherPart", dry, clock(body, workflow.WoodDries, -5, 5), false},
		{"OneOfAllParts", whole, clock(body, workflow.WoodDries, -5, 5), true},
		{"TheWholePiece", dry, clock(id.Nil, workflow.WoodDries, -5, 5), false},
		{"Film", dry, clock(top, workflow.FilmDries, -5, 5), false},
		{"Glue", dry, clock(top, workflow.MinutesPass, -5, 5), false},
		{"WettedLater", dry, clock(top, workflow.WoodDries, 1, 5), false},
		{"DriedBefore", dry, clock(top, workflow.WoodDries, -5, -1), false},
	} {
		ended := c.test.Ends([]workflow.DryClock{c.clock})
		if len(ended) > 0 != c.ends {
			t.Errorf("%s: ends %v, want %v", c.name, ended, c.ends)
		}
		if c.ends && (ended[0].Stage != c.clock.Stage || !ended[0].Ready().Likely.Equal(nine) || !ended[0].Due().Equal(nine)) {
			t.Errorf("%s: ready at %v, to be told at %v, want nine", c.name, ended[0].Ready().Likely, ended[0].Due())
		}
	}
}
