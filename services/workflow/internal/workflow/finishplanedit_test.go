package workflow_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// edit is the stages of a body with a change.
func edit(b workflow.PlanBody, change func(map[string]*workflow.PlanStage)) []workflow.PlanStage {
	out := slices.Clone(b.Stages)
	byTitle := map[string]*workflow.PlanStage{}
	for i := range out {
		out[i].After = slices.Clone(out[i].After)
		byTitle[out[i].Title()] = &out[i]
	}
	change(byTitle)
	return out
}

// without takes a stage out: what came after it comes after what it came after.
func without(stages []workflow.PlanStage, title string) []workflow.PlanStage {
	i := slices.IndexFunc(stages, func(s workflow.PlanStage) bool { return s.Title() == title })
	gone := stages[i]
	left := slices.Delete(slices.Clone(stages), i, i+1)
	for j, s := range left {
		if k := slices.Index(s.After, title); k >= 0 {
			left[j].After = slices.Concat(s.After[:k:k], gone.After, s.After[k+1:])
		}
	}
	return left
}

func TestPlanBody_Edit_AsItWas(t *testing.T) {
	b := drafted(t, nil)
	got, err := b.Edit(b.Stages, nil, b.Products, noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(b, got); diff != "" {
		t.Errorf("unchanged stages come back otherwise (-was +is):\n%s", diff)
	}
}

// What follows from a stage is filled in, whatever was written: what it warns of, what a new
// coat waits for, and how thin a coat of the plan was. A paint of 90 µm would stand 225 µm
// wet, so it goes on in two coats of 45.
func TestPlanBody_Edit_FillsIn(t *testing.T) {
	b := drafted(t, func(b *workflow.PlanBody) {
		thick := *creamPaint.Sheet
		thick.DryFilmUm = 90
		b.Products[2].Sheet = &thick
	})
	stages := edit(b, func(s map[string]*workflow.PlanStage) {
		s["strip (top)"].Cautions, s["paint (case)"].DryFilmUm, s["paint (case)"].Litres = nil, 0, 0
	})
	_, last := titled(b, "topcoat-2 (top)")
	last.Key, last.Needs, last.After = "topcoat-3", finish.NeedsNothing, []string{"topcoat-2 (top)"}
	got, err := b.Edit(append(stages, last), nil, nil, noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	if _, s := titled(got, "strip (top)"); !slices.Contains(s.Cautions, "stripper") {
		t.Errorf("stripping warns of %v", s.Cautions)
	}
	_, was := titled(b, "paint (case)")
	if _, s := titled(got, "paint (case)"); s.DryFilmUm != 45 || s.Litres == 0 || s.Litres != was.Litres {
		t.Errorf("paint = %v µm, %v L; it was %v µm, %v L", s.DryFilmUm, s.Litres, was.DryFilmUm, was.Litres)
	}
	if _, s := titled(got, "topcoat-3 (top)"); s.Needs != finish.NeedsRecoat {
		t.Errorf("a new coat waits for %q", s.Needs)
	}
}

func TestPlanBody_Edit_BreaksARule(t *testing.T) {
	b := drafted(t, nil)
	edited, err := b.Edit(without(edit(b, func(map[string]*workflow.PlanStage) {}), "block-stains (case)"), nil, nil, noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	if edited.Approvable() || edited.Findings[0].Rule.ID == "" {
		t.Fatalf("light paint over oak without a stain block breaks nothing")
	}
	plan := workflow.FinishPlan{Piece: id.New(), Version: 1, PlanBody: edited}
	_, err = plan.Approve(workflow.Piece{ID: plan.Piece}, nil, "Nell", nine, id.New)
	if f := fault.Of(err); !fault.Is(err, "RULE_BROKEN") || !strings.Contains(f.Text, "bleed-through") || !strings.Contains(f.Text, "paint (case)") || !strings.Contains(f.Text, "Seal with shellac") {
		t.Errorf("Approve = %v, want RULE_BROKEN that names the rule, the stage and what to do", err)
	}
	unknown := workflow.PlanOverride{Rule: "stain-bare-wood", Person: id.New(), PersonName: "Odo", Reason: "x"}
	if _, err := plan.Approve(workflow.Piece{ID: plan.Piece}, []workflow.PlanOverride{unknown}, "Nell", nine, id.New); !fault.Is(err, "OVERRIDE_UNKNOWN") {
		t.Errorf("Approve with an override of nothing = %v, want OVERRIDE_UNKNOWN", err)
	}
	var odo []workflow.PlanOverride
	for _, f := range edited.Findings {
		if f.Rule.Severity == finish.Stop {
			odo = append(odo, workflow.PlanOverride{Rule: f.Rule.ID, Stage: f.Stage, Person: id.New(), PersonName: "Odo", Reason: "the wood was sealed last year"})
		}
	}
	if _, err := plan.Approve(workflow.Piece{ID: plan.Piece}, odo, "Nell", nine, id.New); err != nil {
		t.Errorf("Approve with somebody who answers = %v", err)
	}
}

func TestPlanBody_Edit_Refuses(t *testing.T) {
	b := drafted(t, nil)
	for name, c := range map[string]struct {
		change func(map[string]*workflow.PlanStage)
		kind   fault.Kind
		reason string
		field  string
	}{
		"Twice":   {func(s map[string]*workflow.PlanStage) { s["topcoat-2 (top)"].Key = "topcoat" }, fault.Invalid, "STAGE_TWICE", "key"},
		"After":   {func(s map[string]*workflow.PlanStage) { s["stain (top)"].After = []string{"polish (top)"} }, fault.Invalid, "STAGE_UNKNOWN", "after[0]"},
		"Round":   {func(s map[string]*workflow.PlanStage) { s["hardware-off"].After = []string{"inspect"} }, fault.Invalid, "STAGES_GO_ROUND", "after"},
		"Part":    {func(s map[string]*workflow.PlanStage) { s["stain (top)"].Part = "lid" }, fault.Invalid, "PART_UNKNOWN", "part_label"},
		"Grit":    {func(s map[string]*workflow.PlanStage) { s["sand (top)"].Grit = "P121" }, fault.Invalid, "GRIT_UNKNOWN", "grit"},
		"NoGrit":  {func(s map[string]*workflow.PlanStage) { s["sand (top)"].Grit = "" }, fault.Invalid, "GRIT_UNKNOWN", "grit"},
		"Product": {func(s map[string]*workflow.PlanStage) { s["stain (top)"].Product = id.New() }, fault.NotFound, "PRODUCT_NOT_FOUND", "product"},
		"NoProduct": {func(s map[string]*workflow.PlanStage) {
			s["stain (top)"].Product, s["stain (top)"].ProductName = id.Nil, ""
		}, fault.NotFound, "PRODUCT_NOT_FOUND", "product"},
	} {
		_, err := b.Edit(edit(b, c.change), nil, nil, noHistory(t))
		f := fault.Of(err)
		if f == nil || f.Reason != c.reason || f.Kind != c.kind || len(f.Fields) != 1 || !strings.HasPrefix(f.Fields[0].Path, "stages[") || !strings.HasSuffix(f.Fields[0].Path, "]."+c.field) {
			t.Errorf("%s: Edit = %v (%+v), want %s at a stage's %s", name, err, f, c.reason, c.field)
		}
	}
	rags := workflow.PlanProduct{ID: id.New(), Name: "rags"}
	_, err := b.Edit(edit(b, func(s map[string]*workflow.PlanStage) { s["stain (top)"].Product = rags.ID }), nil, []workflow.PlanProduct{rags}, noHistory(t))
	if !fault.Is(err, "COATING_SHEET_MISSING") {
		t.Errorf("a coat of what has no sheet = %v, want COATING_SHEET_MISSING", err)
	}
	if _, err := b.Edit(make([]workflow.PlanStage, 501), nil, nil, noHistory(t)); !fault.Is(err, "PLAN_TOO_LARGE") {
		t.Errorf("501 stages = %v, want PLAN_TOO_LARGE", err)
	}
}

// A piece of twelve parts is drafted in less than two milliseconds; the figure is in ns/op.
func BenchmarkPlanBody_Draft_TwelveParts(b *testing.B) {
	body := dresser(func(b *workflow.PlanBody) {
		for i := range 10 {
			p := b.Parts[i%2]
			p.Label = strings.Repeat("x", i+1)
			b.Parts = append(b.Parts, p)
		}
	})
	l := noHistory(b)
	for b.Loop() {
		if _, err := body.Draft(l); err != nil {
			b.Fatal(err)
		}
	}
}

// A case that was tested needs no test in its plan; one with lead is stripped, not sanded.
// What the stages warn of stays, for the next test may say otherwise.
func TestPlanBody_Tested(t *testing.T) {
	found := func(result string) workflow.PlanBody {
		b := dresser(nil)
		test := workflow.PartTest{Part: b.Parts[1].ID, Kind: workflow.LeadTest, Result: result}
		out, err := b.Tested(workflow.Ground{Tests: []workflow.PartTest{test}}).Draft(noHistory(t))
		if err != nil {
			t.Fatal(err)
		}
		if b.Parts[1].Lead != finish.LeadUntested {
			t.Error("Tested changed the body it was asked of")
		}
		return out
	}
	free := found(workflow.LeadFree)
	if i, _ := titled(free, "lead-test (case)"); i >= 0 {
		t.Error("a case without lead is tested once more")
	}
	if _, s := titled(free, "scuff-sand (case)"); !slices.Contains(s.Cautions, "lead") {
		t.Errorf("the first sanding warns of %v, want lead, for the test may be overtaken", s.Cautions)
	}
	if i, _ := titled(found(workflow.LeadFound), "strip (case)"); i < 0 {
		t.Error("a case with lead is not stripped")
	}
	accepted := found(workflow.LeadAccepted)
	if _, s := titled(accepted, "scuff-sand (case)"); !slices.Contains(s.Cautions, "lead") || !accepted.Approvable() {
		t.Errorf("somebody answers for working under controls, and the plan has %+v and finds %v", s, accepted.Findings)
	}
}
