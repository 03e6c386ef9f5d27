package cli

import (
	"os"
	"path/filepath"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"

	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// planned3 is a shop in which the dresser has a third version of a plan that breaks a rule.
func planned3(t *testing.T) *fake {
	t.Helper()
	f := newFake(t)
	paint := &workflowv1.PlannedStage{Key: "paint", PartLabel: "case", Kind: "paint_coat", Product: "products/k", ProductName: "Clear coat", Skill: "finish", Station: "bench",
		AttendedMinutes: 34, UnattendedMinutes: 240, Needs: workflowv1.DryState_DRY_STATE_RECOAT, After: []string{"hardware-off"}, Why: "the colour",
		Cautions: []*workflowv1.Caution{{Id: "vapour", Text: "Ventilate."}}}
	f.plan = &workflowv1.FinishPlan{Name: "pieces/a/finishPlans/3", Version: 3, State: workflowv1.FinishPlan_STATE_DRAFT, AttendedMinutes: 49, AttendedMinutesLow: 40, AttendedMinutesHigh: 60,
		Stages:   []*workflowv1.PlannedStage{{Key: "hardware-off", Kind: "hardware_off", AttendedMinutes: 15}, paint},
		Findings: []*workflowv1.Finding{{Stage: "paint (case)", Rule: bleeding, Override: &workflowv1.Override{PersonName: "Nell", Reason: "the client likes it"}}},
		Needs: []*workflowv1.MaterialNeed{{ProductName: "Clear coat", Needed: amount("0.75", "L"), OnHand: amount("0.5", "L"),
			Short: &typev1.Quantity{Value: "0.25", Unit: "L"}}}}
	return f
}

func TestPlan_Draft(t *testing.T) {
	t.Parallel()
	f := planned3(t)
	file := filepath.Join(t.TempDir(), "dresser.json")
	text := `{"products": {"paint": "clear coat", "tie_coat": {"name": "Clear coat"}}, "parts": [
		{"label": "Case", "area": "2.5m2", "material": "solid wood", "species": "oak", "old_finish": "shellac", "painted_in": 1920, "look": "paint", "coats": 2, "match_group": "front",
		 "products": {"topcoat": "Clear coat"}}, {"label": "drawers", "material": "mdf", "look": "paint"}]}`
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	clearCoat := func(use workflowv1.ProductUse) *workflowv1.ChosenProduct {
		return &workflowv1.ChosenProduct{Use: use, Product: "products/k"}
	}
	f.gives(t, []string{"plan", "draft", "1", file, "--zone=bench"}, &workflowv1.DraftFinishPlanRequest{Piece: "pieces/a", Zone: "climateZones/bench",
		Products: []*workflowv1.ChosenProduct{clearCoat(workflowv1.ProductUse_PRODUCT_USE_PAINT), clearCoat(workflowv1.ProductUse_PRODUCT_USE_TIE_COAT)},
		Parts: []*workflowv1.PartWish{{Part: "pieces/a/parts/c", AreaM2: 2.5, Look: "paint", Coats: 2, MatchGroup: "front",
			Assessment: &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_SOLID_WOOD, Species: "oak", OldFinish: "shellac", PaintedIn: 1920},
			Products:   []*workflowv1.ChosenProduct{clearCoat(workflowv1.ProductUse_PRODUCT_USE_TOPCOAT)}},
			{Part: "pieces/a/parts/d", Look: "paint", Assessment: &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_MDF}}}})
}

func TestPlan_Draft_Refuses(t *testing.T) {
	t.Parallel()
	f := planned3(t)
	file := filepath.Join(t.TempDir(), "dresser.json")
	for text, want := range map[string]string{
		`{"parts": [{"label": "lid"}]}`:                               `piece 1 has no part "lid"`,
		`{"products": {"varnish": "Clear coat"}}`:                     "products.varnish: there is no such use",
		`{"products": {"paint": "Red"}}`:                              `products.paint: no product is called "Red"`,
		`{"parts": [{"label": "case", "lead": "free"}]}`:              "parts[0].lead: the shop keeps tests for lead",
		`{"parts": [{"label": "case", "area": "36"}]}`:                "parts[0].area",
		`{"parts": [{"label": "case", "colour": "red"}]}`:             "colour",
		`{"products": {"paint": {"name": "Clear coat", "shine": 3}}}`: "shine",
	} {
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		f.refuses(t, []string{"plan", "draft", "1", file}, want)
	}
}

func TestPlan_Show(t *testing.T) {
	t.Parallel()
	f := planned3(t)
	f.says(t, line("plan show 1"), "Version 3, draft: 2 stages, 0:49 hands-on (0:40 to 1:00 nine times in ten)",
		"case paint Clear coat finish bench 0:34 4:00 dry to recoat", "STOP at paint (case): A stain block comes first. (bleed-through)",
		"Nell answers for it: the client likes it", "Clear coat 0.75 L 0.5 L 0.25 L", "VAPOUR: Ventilate.")
	f.says(t, line("plan show 1 --version 3 --explain"), "the colour")
	f.refuses(t, line("plan show 1 --version 4"), "There is no such plan.")
}

// edit writes what plan show --json prints, as somebody would who edits it.
func (f *fake) edit(t *testing.T) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "plan.json")
	b, err := protojson.Marshal(&workflowv1.GetFinishPlanResponse{Plan: f.plan})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

func TestPlan_Check(t *testing.T) {
	t.Parallel()
	f := planned3(t)
	f.says(t, line("plan check 1"), "The plan cannot be approved as it is.", "Clear coat 0.75 L")
	f.says(t, append(line("plan check 1 --by nell --override 'bleed-through=the client likes it' --stages"), f.edit(t)), "The plan can be approved.")
}

func TestPlan_Approve(t *testing.T) {
	t.Parallel()
	f := planned3(t)
	f.gives(t, line("plan approve 1"), &workflowv1.ApproveFinishPlanRequest{Piece: "pieces/a"})
	f.gives(t, append(line("plan approve 1 --by nell --override 'bleed-through@paint (case)=he = likes it' --override dust-off=clean --stages"), f.edit(t)),
		&workflowv1.ApproveFinishPlanRequest{Piece: "pieces/a", Stages: f.plan.Stages, Overrides: []*workflowv1.Override{
			{Rule: "rules/bleed-through", Stage: "paint (case)", Person: "people/n", Reason: "he = likes it"}, {Rule: "rules/dust-off", Person: "people/n", Reason: "clean"}}})
	f.refuses(t, line("plan approve 1 --override bleed-through=no"), "say with --by who answers")
	f.refuses(t, line("plan approve 1 --by Nell --override bleed-through"), "is not of the form")
	f.refuses(t, line("plan approve 1 --by Nobody --override a=b"), `nobody called "Nobody"`)
}

func TestPlan_Amend(t *testing.T) {
	t.Parallel()
	f := planned3(t)
	f.gives(t, append(line("plan amend 1 --reason 'one coat more' --stages"), f.edit(t)),
		&workflowv1.AmendFinishPlanRequest{Piece: "pieces/a", Stages: f.plan.Stages, Reason: "one coat more"})
	f.gives(t, line("plan amend 1 --reason 'the sheet was wrong'"), &workflowv1.AmendFinishPlanRequest{Piece: "pieces/a", Stages: f.plan.Stages, Reason: "the sheet was wrong"})
	f.plan.Stages = nil
	f.refuses(t, append(line("plan amend 1 --reason x --stages"), f.edit(t)), "there is no plan with stages in it")
}

func TestRule(t *testing.T) {
	t.Parallel()
	f := planned3(t)
	f.says(t, line("rule list"), "bleed-through stop A stain block comes first. yes")
	f.says(t, line("rule explain bleed-through"), "bleed-through (stop)\nA stain block comes first.\nWhy: Tannin bleeds.\nInstead: Seal it.\nSource: common practice\n")
	f.refuses(t, line("rule explain x"), "There is no such rule.")
}
