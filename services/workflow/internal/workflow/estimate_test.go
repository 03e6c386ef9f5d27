package workflow_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

var everyLook = []finish.Look{finish.Painted, finish.Glazed, finish.Stained, finish.Clear, finish.Oiled, finish.Toned, finish.Ebonised, finish.Limewashed, finish.TwoTone}

func wanted(look finish.Look) workflow.PlanBody {
	part := workflow.PlanPart{Label: "top", Material: finish.SolidWood, Species: "oak", AreaM2: 1.2, Look: look}
	if look == finish.Toned {
		part.OldFinish, part.PaintedIn = finish.NitroLacquer, 1990
	}
	return workflow.PlanBody{Parts: []workflow.PlanPart{part}}
}

func estimated(t *testing.T, b workflow.PlanBody, last ...workflow.PlanChoice) workflow.Estimate {
	t.Helper()
	e, err := b.Furnish(last).Estimate(noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// Each look can be estimated for a shop that has nothing yet, with products whose sheets hold.
func TestPlanBody_Estimate_EveryLook(t *testing.T) {
	for _, look := range everyLook {
		b := wanted(look).Furnish(nil)
		for _, p := range b.Products {
			if err := p.Sheet.Check(); err != nil {
				t.Errorf("%s: %s: %v", look, p.Name, err)
			}
		}
		e, err := b.Estimate(noHistory(t))
		if err != nil {
			t.Errorf("%s: %v", look, err)
			continue
		}
		if e.Stages < 5 || e.Hands.Likely < time.Hour || e.Hands.Low >= e.Hands.Likely || e.Days < 1 || len(e.Cautions) == 0 {
			t.Errorf("%s: %+v", look, e)
		}
		named := 0
		for _, n := range e.Needs {
			if n.Product != id.Nil {
				t.Errorf("%s: %s is said to be a product of the shop", look, n.Name)
			}
			if strings.HasSuffix(n.Name, "(usual)") {
				named++
			}
		}
		if named != len(b.Products) {
			t.Errorf("%s: %d usual products are needed of %d: %v", look, named, len(b.Products), e.Needs)
		}
		sorted := slices.Sorted(slices.Values(e.Cautions))
		if len(slices.Compact(sorted)) != len(e.Cautions) {
			t.Errorf("%s warns twice: %v", look, e.Cautions)
		}
	}
}

// Nobody said how many coats cover a stain: two. What was said holds.
func TestPlanBody_Estimate_Topcoats(t *testing.T) {
	for said, want := range map[int]int{0: 2, 1: 1, 3: 3} {
		b := wanted(finish.Stained)
		b.Parts[0].Topcoats = said
		one := b
		one.Parts = slices.Clone(b.Parts)
		one.Parts[0].Topcoats = want
		if got, same := estimated(t, b), estimated(t, one); got.Stages != same.Stages || got.Hands != same.Hands {
			t.Errorf("with %d said: %d stages, want those of %d: %d", said, got.Stages, want, same.Stages)
		}
	}
	if got := wanted(finish.Painted).Wants(); !slices.Equal(got, []workflow.Use{workflow.UsePaint}) {
		t.Errorf("paint wants %v", got)
	}
}

// What the shop used last is used again, unless it is gone, has no sheet, or another was chosen.
func TestPlanBody_Furnish(t *testing.T) {
	last := workflow.PlanChoice{Use: workflow.UseStain, Product: walnutStain.ID}
	product := func(b workflow.PlanBody) id.ID {
		b = b.Furnish([]workflow.PlanChoice{{Use: workflow.UsePaint, Product: creamPaint.ID}, last})
		for _, c := range b.Choices {
			if c.Use == workflow.UseStain {
				return c.Product
			}
		}
		return id.Nil
	}
	b := wanted(finish.Stained)
	if got := product(b); got == walnutStain.ID || got == id.Nil {
		t.Errorf("of a product that is gone: %s", got)
	}
	bare := walnutStain
	bare.Sheet = nil
	b.Products = []workflow.PlanProduct{bare}
	if got := product(b); got == walnutStain.ID {
		t.Error("a stain without a data sheet is used")
	}
	b.Products = []workflow.PlanProduct{walnutStain}
	if got := product(b); got != walnutStain.ID {
		t.Errorf("the last stain is not used: %s", got)
	}
	other := walnutStain
	other.ID = id.New()
	b.Products, b.Choices = append(b.Products, other), []workflow.PlanChoice{{Use: workflow.UseStain, Product: other.ID}}
	if got := product(b); got != other.ID {
		t.Errorf("chosen was another: %s", got)
	}
	if n := len(b.Choices); n != 1 {
		t.Errorf("the body was changed: %d choices", n)
	}
}

// By hand: of three stages in a row with 4, 2 and 6 hours of hands and 10, 0 and 14 hours of drying,
// 12 hours of hands are 36 on the calendar, and with 24 of drying 60, which is in the third day. A
// fourth that only waits for the first is done meanwhile, and a fifth that waits for both waits no longer.
func TestPlanBody_Estimate_Days(t *testing.T) {
	chain := []workflow.PlanStage{
		{Key: "a", Attended: 4 * time.Hour, Unattended: 10 * time.Hour}, {Key: "b", Attended: 2 * time.Hour, After: []string{"a"}},
		{Key: "c", Attended: 6 * time.Hour, Unattended: 14 * time.Hour, After: []string{"b"}}, {Key: "d", Attended: 5 * time.Hour, After: []string{"a"}},
		{Key: "e", After: []string{"c", "d"}},
	}
	for n, want := range map[int]int{0: 0, 1: 1, 2: 2, 3: 3, 4: 3, 5: 3} {
		if got, err := workflow.LeastDays(chain[:n]); err != nil || got != want {
			t.Errorf("of %d stages: %d days, %v, want %d", n, got, err, want)
		}
	}
	// A week is how long usual paint cures before the hardware goes on.
	if e := estimated(t, wanted(finish.Painted)); e.Days < 7 || e.Days > 10 {
		t.Errorf("painted in %d days", e.Days)
	}
}

// Of kinds that were done here the time is learned, of others it is the usual.
func TestPlanBody_Estimate_Learned(t *testing.T) {
	b := wanted(finish.Painted).Furnish(nil)
	before, err := b.Estimate(noHistory(t))
	if err != nil || before.Learned != 0 {
		t.Errorf("without any history %v is learned, %v", before.Learned, err)
	}
	var sums []workflow.LabourSum
	for _, kind := range []finish.Kind{finish.PaintCoat, finish.Sand} {
		sums = append(sums, workflow.LabourSum{Kind: string(kind), Person: id.New(), N: 20, Sum: 20, Squares: 20}) // e times the usual
	}
	l, err := workflow.NewLabour(sums)
	if err != nil {
		t.Fatal(err)
	}
	after, err := b.Estimate(l)
	if err != nil || after.Hands.Likely <= before.Hands.Likely || after.Learned <= 0 || after.Learned >= after.Hands.Likely {
		t.Errorf("slow work: %v, of which %v learned, after %v; %v", after.Hands, after.Learned, before.Hands, err)
	}
}

func TestPlanBody_Estimate_Refuses(t *testing.T) {
	twice := wanted(finish.Painted)
	twice.Parts = append(twice.Parts, twice.Parts[0])
	bare := wanted(finish.Stained)
	bare.Parts[0].Material, bare.Parts[0].Species = finish.Laminate, ""
	for name, c := range map[string]struct {
		body         workflow.PlanBody
		reason, path string
	}{
		"twice": {twice, "PART_TWICE", "parts[1].label"}, "look": {wanted("gold"), "LOOK_UNKNOWN", "parts[0].look"}, "laminate": {bare, "PLAN_IMPOSSIBLE", "parts[0]"},
		"none": {workflow.PlanBody{}, "PARTS_MISSING", "parts"},
	} {
		_, err := c.body.Furnish(nil).Estimate(noHistory(t))
		if f := fault.Of(err); f == nil || f.Reason != c.reason || f.Fields[0].Path != c.path {
			t.Errorf("%s: %v, want %s at %s", name, err, c.reason, c.path)
		}
	}
}
