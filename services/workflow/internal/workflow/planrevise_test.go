package workflow_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/coating"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// begin has stages begun, by their titles.
func begin(f workflow.Floor, titles ...string) workflow.Floor {
	stages := stagesOf(f.Stages)
	for _, title := range titles {
		f.Begun[stages[title].ID] = true
	}
	return f
}

// revised is what an edit makes of a plan.
func revised(t *testing.T, plan workflow.FinishPlan, f workflow.Floor, e workflow.Edits) workflow.PlanBody {
	t.Helper()
	b, err := plan.Revise(f, e, noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// corrected is a product whose data sheet was put right.
func corrected(p workflow.PlanProduct, change func(*workflow.PlanProduct)) workflow.PlanProduct {
	sheet := *p.Sheet
	p.Sheet = &sheet
	change(&p)
	return p
}

// The maker's sheet was typed in wrong: the paint takes its next coat after a day, not four
// hours, and has 20 % solids. The first coat is on, and stays as it was laid; what is still to
// be done goes by the sheet as it is.
func TestFinishPlan_Amend_ACorrectedSheet(t *testing.T) {
	plan, f := work(t)
	f = begin(f, "paint (case)")
	before := stagesOf(f.Stages)
	right := corrected(creamPaint, func(p *workflow.PlanProduct) { p.Sheet.Recoat, p.Sheet.SolidsPercent = 24*time.Hour, 20 })
	a, err := plan.Amend(f, workflow.Edits{Stages: plan.Stages, Products: []workflow.PlanProduct{right}}, noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	a.Approve(f, "Odo", "the sheet was wrong", nine, id.New)
	after := stagesOf(a.Stages())
	if diff := cmp.Diff(before["paint (case)"], after["paint (case)"]); diff != "" {
		t.Errorf("the coat that is on changed:\n%s", diff)
	}
	_, first := titled(a.Plan.PlanBody, "paint (case)")
	_, was := titled(plan.PlanBody, "paint (case)")
	if first.Sheet == nil || first.Sheet.Recoat != 4*time.Hour || first.Litres != was.Litres || first.Unattended != was.Unattended {
		t.Errorf("in the plan it goes by %+v, %v L, %s; it was %v L, %s", first.Sheet, first.Litres, first.Unattended, was.Litres, was.Unattended)
	}
	// 3.5 m² ÷ (10 × 20 ÷ 30 m²/L × 0.95) is 0.55263 L of the second coat alone.
	second := after["paint-2 (case)"]
	if second.Coating.Dries.Stated[3] == 0 || second.WetFilmUm != 150 || second.ID != before["paint-2 (case)"].ID {
		t.Errorf("the next coat dries as %+v, %v µm wet", second.Coating, second.WetFilmUm)
	}
	for _, n := range a.Plan.Needs {
		if n.Name == "cream paint" && n.Needed.Value.String() != "0.553" {
			t.Errorf("paint for the second coat = %s L, want 0.553", n.Needed.Value)
		}
	}
	// The version after that still judges the first coat by the sheet of then.
	f.Stages = a.Stages()
	next := revised(t, a.Plan, f, workflow.Edits{Products: []workflow.PlanProduct{right}})
	if _, s := titled(next, "paint (case)"); s.Sheet == nil || s.Sheet.Recoat != 4*time.Hour {
		t.Errorf("one version later it goes by %+v", s.Sheet)
	}
}

// Times that were by the sheet are by the sheet as it is now; what somebody chose stays.
func TestFinishPlan_Revise_FollowsTheSheet(t *testing.T) {
	closing := corrected(creamPaint, func(p *workflow.PlanProduct) { p.Sheet.RecoatCloses = 72 * time.Hour })
	b := drafted(t, func(b *workflow.PlanBody) { b.Products[2] = closing })
	i, _ := titled(b, "paint (case)")
	b.Stages[i].Latest = 72 * time.Hour
	plan, laid, _ := approved(t, b)
	f := workflow.Floor{Plan: laid, Begun: map[id.ID]bool{}}
	if _, s := titled(plan.PlanBody, "paint (case)"); s.Unattended != 4*time.Hour || s.Latest != 72*time.Hour || s.DryFilmUm != 30 {
		t.Fatalf("paint = %s, until %s, %v µm", s.Unattended, s.Latest, s.DryFilmUm)
	}
	right := corrected(closing, func(p *workflow.PlanProduct) {
		p.Sheet.Recoat, p.Sheet.RecoatCloses, p.Sheet.Cure, p.Sheet.DryFilmUm = 24*time.Hour, 48*time.Hour, 14*24*time.Hour, 20
	})
	b = revised(t, plan, f, workflow.Edits{Products: []workflow.PlanProduct{right}})
	if _, s := titled(b, "paint (case)"); s.Unattended != 24*time.Hour || s.Latest != 48*time.Hour || s.DryFilmUm != 20 {
		t.Errorf("paint = %s, until %s, %v µm; want those of the sheet as it is", s.Unattended, s.Latest, s.DryFilmUm)
	}
	chosen := edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) {
		s["paint (case)"].Unattended, s["paint (case)"].Latest = 30*time.Hour, 40*time.Hour
	})
	b = revised(t, plan, f, workflow.Edits{Stages: chosen, Products: []workflow.PlanProduct{right}})
	if _, s := titled(b, "paint (case)"); s.Unattended != 30*time.Hour || s.Latest != 40*time.Hour {
		t.Errorf("what somebody chose = %s, until %s, want 30 h and 40 h", s.Unattended, s.Latest)
	}
	gone := workflow.PlanProduct{ID: closing.ID, Name: closing.Name}
	if _, s := titled(revised(t, plan, f, workflow.Edits{Products: []workflow.PlanProduct{gone}}), "paint (case)"); s.Litres == 0 || s.Unattended != 4*time.Hour {
		t.Errorf("without a sheet any more it is %+v, want what it was", s)
	}
}

// It turns out that the paint is a light one, that lets tannin through where nothing holds it
// back: the check says so of the coat that is to come, and not of the one that is on.
func TestFinishPlan_Revise_ShowsWhatASheetBreaks(t *testing.T) {
	dark := corrected(creamPaint, func(p *workflow.PlanProduct) { p.Sheet.Light = false })
	plan, laid, _ := approved(t, drafted(t, func(b *workflow.PlanBody) { b.Products[2] = dark }))
	f := begin(workflow.Floor{Plan: laid, Begun: map[id.ID]bool{}}, "paint (case)")
	if b := revised(t, plan, f, workflow.Edits{Products: []workflow.PlanProduct{dark}}); !b.Approvable() {
		t.Errorf("as it was it breaks %+v", b.Findings)
	}
	var at []string
	for _, finding := range revised(t, plan, f, workflow.Edits{Products: []workflow.PlanProduct{creamPaint}}).Findings {
		if finding.Rule.ID == "bleed-through" {
			at = append(at, finding.Stage)
		}
	}
	if !slices.Equal(at, []string{"paint-2 (case)"}) {
		t.Errorf("tannin bleeds through at %v, want the coat that is not on", at)
	}
}

// An approved plan that nobody changes can be approved as it is: who answered answers still,
// and it is what Amend takes. What Amend refuses, a check refuses.
func TestFinishPlan_Revise_IsWhatAmendTakes(t *testing.T) {
	b := drafted(t, nil)
	b, err := b.Edit(without(edit(b, func(map[string]*workflow.PlanStage) {}), "block-stains (case)"), nil, nil, noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	plan := workflow.FinishPlan{Piece: id.New(), Version: 1, State: workflow.PlanDraft, PlanBody: b}
	odo := workflow.PlanOverride{Rule: "bleed-through", Person: id.New(), PersonName: "Odo", Reason: "it was sealed last year"}
	laid, err := plan.Approve(workflow.Piece{ID: plan.Piece}, []workflow.PlanOverride{odo}, "Nell", nine, id.New)
	if err != nil {
		t.Fatal(err)
	}
	f := begin(workflow.Floor{Plan: laid, Begun: map[id.ID]bool{}}, "hardware-off")
	if body := revised(t, plan, f, workflow.Edits{}); !body.Approvable() || body.Findings[0].Override == nil {
		t.Errorf("unchanged it stands with %+v", body.Findings)
	}
	missing := workflow.Edits{Stages: without(edit(plan.PlanBody, func(map[string]*workflow.PlanStage) {}), "hardware-off")}
	if _, err := plan.Revise(f, missing, noHistory(t)); !fault.Is(err, "STAGE_BEGUN") {
		t.Errorf("without what was begun = %v, want STAGE_BEGUN", err)
	}
	f.Piece.Scrapped = true
	if _, err := plan.Revise(f, workflow.Edits{}, noHistory(t)); !fault.Is(err, "PIECE_SCRAPPED") {
		t.Errorf("of a scrapped piece = %v, want PIECE_SCRAPPED", err)
	}
	draft := workflow.FinishPlan{Piece: plan.Piece, State: workflow.PlanDraft, PlanBody: b}
	if _, err := draft.Revise(workflow.Floor{Plan: workflow.Plan{Piece: workflow.Piece{Planned: true}}}, workflow.Edits{}, noHistory(t)); !fault.Is(err, "PIECE_ALREADY_PLANNED") {
		t.Errorf("a draft for a planned piece = %v, want PIECE_ALREADY_PLANNED", err)
	}
}

// A stage that was begun is in the new version as it was in the old one, whatever somebody
// sent of what is not theirs to write.
func TestFinishPlan_Amend_KeepsWhatWasBegun(t *testing.T) {
	plan, f := work(t)
	f = begin(f, "topcoat (top)")
	sent := edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) {
		s["strip (top)"].Cautions, s["topcoat (top)"].Litres, s["topcoat (top)"].DryFilmUm, s["topcoat (top)"].ProductName = nil, 0, 0, "varnish"
	})
	thinned := corrected(varnish, func(p *workflow.PlanProduct) { p.Name, p.Sheet.Method = "another name", coating.Wipe })
	b := revised(t, plan, f, workflow.Edits{Stages: sent, Products: []workflow.PlanProduct{thinned}})
	for _, title := range []string{"strip (top)", "topcoat (top)"} {
		_, was := titled(plan.PlanBody, title)
		_, is := titled(b, title)
		is.Sheet = nil
		if diff := cmp.Diff(was, is); diff != "" {
			t.Errorf("%s was begun and changed:\n%s", title, diff)
		}
	}
}

// Needs are of what is still to be done. By hand: one of two coats of varnish, 1.2 ÷ 19 m²/L.
func TestFinishPlan_Revise_NeedsOfWhatIsToBeDone(t *testing.T) {
	plan, f := work(t)
	f = begin(f, "stain (top)", "topcoat (top)")
	got := map[string]workflow.PlanNeed{}
	for _, n := range revised(t, plan, f, workflow.Edits{}).Needs {
		got[n.Name] = n
	}
	if n := got["wiping varnish"]; n.Needed == nil || n.Needed.Value.String() != "0.064" {
		t.Errorf("varnish = %+v, want 0.064 L for one coat", n)
	}
	if n, still := got["walnut stain"]; still {
		t.Errorf("stain, which is on = %+v, want none", n)
	}
}

// With one more coat the look at the film waits for another stage than before, and the coat before
// it takes longer; nothing else is otherwise.
func TestFinishPlan_Amend_TellsWhatComesAfterOthers(t *testing.T) {
	plan, f := work(t)
	a, err := amend(t, plan, f, another(edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) {
		slices.Reverse(s["film-check"].After)
		s["topcoat-2 (top)"].Attended = 40 * time.Minute
	})))
	if err != nil {
		t.Fatal(err)
	}
	if got := titles(a.Changed); !slices.Equal(got, []string{"film-check", "topcoat-2 (top)"}) {
		t.Errorf("changed = %v, want the look at the film and the coat alone", got)
	}
	if a, err = amend(t, plan, f, edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { slices.Reverse(s["film-check"].After) })); err != nil || a.Changed != nil {
		t.Errorf("named in another order = %+v, %v, want nothing changed", a.Changed, err)
	}
}

func titles(stages []workflow.Stage) (out []string) {
	for _, s := range stages {
		out = append(out, s.Title())
	}
	return slices.Sorted(slices.Values(out))
}

// By hand: of the varnish 60 % gets onto the piece now, and 95 % did. The coat that is on keeps
// its amount; the one that is to come takes 1.2 m² ÷ (20 m²/L × 0.6) = 0.1 L.
func TestFinishPlan_Amend_TellsWhatTakesAnotherAmount(t *testing.T) {
	plan, f := work(t)
	f = begin(f, "topcoat (top)")
	sprayed := corrected(varnish, func(p *workflow.PlanProduct) { p.Sheet.Method, p.Sheet.TransferPercent = coating.HVLP, 60 })
	a, err := plan.Amend(f, workflow.Edits{Products: []workflow.PlanProduct{sprayed}}, noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	a.Approve(f, "Odo", "a gun was bought", nine.Add(time.Hour), id.New)
	if got := titles(a.Changed); !slices.Equal(got, []string{"topcoat-2 (top)"}) {
		t.Fatalf("changed = %v, want the coat that is to come", got)
	}
	if coat := a.Changed[0]; coat.Amount == nil || coat.Amount.Value.String() != "0.1" || coat.Amount.Unit != "L" || coat.Method != "hvlp" {
		t.Errorf("the coat takes %+v by %s, want 0.1 L by hvlp", coat.Amount, coat.Method)
	}
}

// What nobody can have seen is refused at the word that says it.
func TestPlanPart_Check(t *testing.T) {
	good := dresser(nil).Parts[1]
	good.PaintedIn, good.Defects = 2026, finish.Defects()
	if err := good.Check(2026); err != nil {
		t.Errorf("Check = %v", err)
	}
	unknown := good
	if unknown.OldFinish = finish.UnknownFinish; unknown.Check(2026) != nil {
		t.Errorf("Check of a coating that nobody can tell = %v", unknown.Check(2026))
	}
	for path, c := range map[string]struct {
		change func(*workflow.PlanPart)
		reason string
	}{
		"painted_in": {func(p *workflow.PlanPart) { p.PaintedIn = 2027 }, "OUT_OF_RANGE"},
		"defects[1]": {func(p *workflow.PlanPart) { p.Defects = []finish.Defect{finish.Dents, "coffee"} }, "DEFECT_UNKNOWN"},
		"old_finish": {func(p *workflow.PlanPart) { p.OldFinish = "jam" }, "FAMILY_UNKNOWN"},
		"species":    {func(p *workflow.PlanPart) { p.Species = "cardboard" }, "SPECIES_UNKNOWN"},
		"veneer_mm":  {func(p *workflow.PlanPart) { p.VeneerMM = 11 }, "OUT_OF_RANGE"},
	} {
		p := good
		c.change(&p)
		err := p.Check(2026)
		if f := fault.Of(err); !fault.Is(err, c.reason) || len(f.Fields) != 1 || f.Fields[0].Path != path {
			t.Errorf("Check = %v (%+v), want %s at %s", err, f, c.reason, path)
		}
	}
	for _, year := range []int{2951, 1599, -5} {
		p := good
		if p.PaintedIn = year; !fault.Is(p.Check(2026), "OUT_OF_RANGE") {
			t.Errorf("painted in %d = %v, want OUT_OF_RANGE", year, p.Check(2026))
		}
	}
}

// A loose joint and a chip of a drawer front are mended before it is sanded.
func TestPlanBody_Draft_MendsDefects(t *testing.T) {
	b := drafted(t, func(b *workflow.PlanBody) { b.Parts[0].Defects = []finish.Defect{finish.VeneerChip, finish.LooseJoint} })
	for _, kind := range []finish.Kind{finish.GlueClamp, finish.VeneerRepair} {
		if !slices.ContainsFunc(b.Stages, func(s workflow.PlanStage) bool { return s.Part == "top" && s.Kind == kind }) {
			t.Errorf("the draft has no %s", kind)
		}
	}
}
