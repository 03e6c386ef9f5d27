package workflow_test

import (
	"slices"
	"testing"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// warnsOf checks that the cautions of a stage have some of them, each once, and not others.
func warnsOf(t *testing.T, stage string, got, want, not []string) {
	t.Helper()
	sorted := slices.Sorted(slices.Values(got))
	if len(slices.Compact(sorted)) != len(got) {
		t.Errorf("%s warns twice: %v", stage, got)
	}
	for _, c := range want {
		if !slices.Contains(got, c) {
			t.Errorf("%s warns of %v, and not of %s", stage, got, c)
		}
	}
	for _, c := range not {
		if slices.Contains(got, c) {
			t.Errorf("%s warns of %v, also of %s", stage, got, c)
		}
	}
}

// A stage warns of what its kind and its film do, and of what the details of its product say
// beside them; other stages do not.
func TestPlanBody_Draft_CautionsOfTheProduct(t *testing.T) {
	b := drafted(t, func(b *workflow.PlanBody) { b.Products[2].Cautions = []string{"vapour", "two-part"} })
	_, paint := titled(b, "paint (case)")
	warnsOf(t, "paint (case)", paint.Cautions, []string{"vapour", "two-part"}, []string{"oily-rags"})
	_, coat := titled(b, "topcoat (top)")
	warnsOf(t, "topcoat (top)", coat.Cautions, []string{"vapour", "oily-rags"}, []string{"two-part"})
}

// What is said of a product after the draft counts when it is approved or amended; a stage that
// was begun meanwhile keeps what it had. A stage that lays no coat warns of its product too.
func TestPlanBody_Edit_CautionsOfTheProduct(t *testing.T) {
	b := drafted(t, nil)
	spirits := workflow.PlanProduct{ID: id.New(), Name: "spirits", Cautions: []string{"fire"}}
	paint := creamPaint
	paint.Cautions = []string{"two-part"}
	var begun id.ID
	stages := edit(b, func(s map[string]*workflow.PlanStage) {
		s["clean (top)"].Product = spirits.ID
		begun = id.New()
		s["paint (case)"].ID = begun
	})
	b.Stages = edit(b, func(s map[string]*workflow.PlanStage) { s["paint (case)"].ID = begun })
	got, err := b.Edit(stages, map[id.ID]bool{begun: true}, []workflow.PlanProduct{walnutStain, varnish, paint, spirits}, noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	_, clean := titled(got, "clean (top)")
	warnsOf(t, "clean (top)", clean.Cautions, []string{"fire"}, nil)
	_, second := titled(got, "paint-2 (case)")
	warnsOf(t, "paint-2 (case)", second.Cautions, []string{"vapour", "two-part"}, nil)
	_, first := titled(got, "paint (case)")
	warnsOf(t, "paint (case), which was begun", first.Cautions, []string{"vapour"}, []string{"two-part"})
}

// By a route nobody says what a coat is, so a product with a data sheet warns as a coat of it does;
// what is done once on the piece warns of its product whichever part named it.
func TestLayOut_CautionsOfTheProduct(t *testing.T) {
	route := workflow.Route{Word: "oiled", Steps: []workflow.Step{part("sand"), part("oil", "sand"), whole("wax", "oil")}}
	top, carcass := id.New(), id.New()
	wax := workflow.PlanProduct{ID: id.New(), Name: "Wax", Cautions: []string{"fire"}}
	oil := varnish
	oil.Cautions = []string{"dust"}
	named := []workflow.StepProduct{{Step: "oil", Part: top, Product: oil.ID, Name: oil.Name, Warns: oil.Warns()},
		{Step: "wax", Part: carcass, Product: wax.ID, Name: wax.Name, Warns: wax.Warns()}, {Step: "sand", Product: wax.ID, Name: wax.Name, Warns: wax.Warns()}}
	parts := []workflow.PartRoute{{Part: top, Label: "top", Route: route}, {Part: carcass, Label: "case", Route: route}}
	if err := workflow.TakeProducts(parts, named); err != nil {
		t.Fatal(err)
	}
	laid, err := workflow.LayOut(id.New(), parts, id.New)
	if err != nil {
		t.Fatal(err)
	}
	stages := stagesOf(laid)
	warnsOf(t, "oil (top)", stages["oil (top)"].Cautions, []string{"dust", "vapour", "fire", "oily-rags"}, []string{"two-part"})
	warnsOf(t, "oil (case)", stages["oil (case)"].Cautions, nil, []string{"dust", "vapour", "oily-rags"})
	warnsOf(t, "sand (top)", stages["sand (top)"].Cautions, []string{"dust", "lead", "fire"}, nil)
	warnsOf(t, "wax", stages["wax"].Cautions, []string{"fire"}, nil)
}
