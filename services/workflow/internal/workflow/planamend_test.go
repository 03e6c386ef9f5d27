package workflow_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// work is an approved dresser of which the first stages of the top were begun.
func work(t *testing.T) (workflow.FinishPlan, workflow.Floor) {
	t.Helper()
	plan, laid, stages := approved(t, drafted(t, nil))
	f := workflow.Floor{Plan: laid, Begun: map[id.ID]bool{}}
	for _, title := range []string{"hardware-off", "clean (top)", "strip (top)"} {
		f.Begun[stages[title].ID] = true
	}
	return plan, f
}

func amend(t *testing.T, plan workflow.FinishPlan, f workflow.Floor, stages []workflow.PlanStage) (workflow.Amendment, error) {
	t.Helper()
	a, err := plan.Amend(f, workflow.Edits{Stages: stages}, noHistory(t))
	if err == nil {
		a.Approve(f, "Odo", "more wear", nine.Add(time.Hour), id.New)
	}
	return a, err
}

// another puts a third topcoat on the top, scuffed and dusted, before the film is looked at.
func another(stages []workflow.PlanStage) []workflow.PlanStage {
	i := slices.IndexFunc(stages, func(s workflow.PlanStage) bool { return s.Title() == "topcoat-2 (top)" })
	coat := stages[i]
	scuff, dust, third := coat, coat, coat
	scuff.ID, scuff.Key, scuff.Kind, scuff.Grit, scuff.Product, scuff.Unattended, scuff.After = id.Nil, "scuff-sand-9", finish.ScuffSand, "P320", id.Nil, 0, []string{coat.Title()}
	dust.ID, dust.Key, dust.Kind, dust.Product, dust.Unattended, dust.After = id.Nil, "dust-off-9", finish.DustOff, id.Nil, 0, []string{scuff.Title()}
	third.ID, third.Key, third.After = id.Nil, "topcoat-3", []string{dust.Title()}
	for j, s := range stages {
		if k := slices.Index(s.After, coat.Title()); k >= 0 {
			stages[j].After[k] = third.Title()
		}
	}
	return append(stages, scuff, dust, third)
}

func TestFinishPlan_Amend_OneMoreCoat(t *testing.T) {
	plan, f := work(t)
	before := stagesOf(f.Stages)
	a, err := amend(t, plan, f, another(edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) {
		s["topcoat-2 (top)"].Attended = 40 * time.Minute
	})))
	if err != nil {
		t.Fatal(err)
	}
	if a.Plan.Version != 2 || a.Plan.State != workflow.PlanApproved || a.Plan.Actor != "Odo" || a.Plan.Reason != "more wear" {
		t.Errorf("new version = %d %s by %s for %q", a.Plan.Version, a.Plan.State, a.Plan.Actor, a.Plan.Reason)
	}
	if len(a.Added) != 3 || len(a.Dropped) != 0 || len(a.Kept) != len(f.Stages) {
		t.Errorf("%d added, %d dropped, %d kept", len(a.Added), len(a.Dropped), len(a.Kept))
	}
	now := a.Stages()
	for i, s := range now {
		if s.Position != int32(i+1) {
			t.Errorf("%s is at %d, not %d", s.Title(), s.Position, i+1)
		}
		if old := before[s.Title()]; f.Begun[s.ID] && (old.ID != s.ID || !cmp.Equal(old, s, placeAside)) {
			t.Errorf("what was begun changed:\n%s", cmp.Diff(old, s))
		}
	}
	after := stagesOf(now)
	if after["topcoat-2 (top)"].ID != before["topcoat-2 (top)"].ID || after["topcoat-2 (top)"].Attended != 40*time.Minute {
		t.Errorf("edited in place = %+v", after["topcoat-2 (top)"])
	}
	if !slices.Contains(after["film-check"].After, after["topcoat-3 (top)"].ID) {
		t.Error("nobody looks at the new coat")
	}
}

// placeAside leaves the place of a stage out of a comparison: others came before it.
var placeAside = cmp.FilterPath(func(p cmp.Path) bool { return p.String() == "Position" }, cmp.Ignore())

func TestFinishPlan_Amend_DropsWhatWasNotBegun(t *testing.T) {
	plan, f := work(t)
	before := stagesOf(f.Stages)
	a, err := amend(t, plan, f, without(edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) {
		s["dust-off (case)"].Kind = "blow_off"
	}), "sand-2 (top)"))
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(a.Dropped, before["sand-2 (top)"].ID) || !slices.Contains(a.Dropped, before["dust-off (case)"].ID) || len(a.Dropped) != 2 {
		t.Errorf("dropped %v, want the second sanding, and the stage that is of another kind now", a.Dropped)
	}
	if len(a.Added) != 1 || a.Added[0].Kind != "blow_off" {
		t.Errorf("added %v", a.Added)
	}
}

func TestFinishPlan_Amend_Refuses(t *testing.T) {
	plan, f := work(t)
	nothing := func(map[string]*workflow.PlanStage) {}
	for name, c := range map[string]struct {
		stages []workflow.PlanStage
		reason string
		says   string
	}{
		"Missing":   {without(edit(plan.PlanBody, nothing), "strip (top)"), "STAGE_BEGUN", "strip (top)"},
		"OtherKind": {edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["strip (top)"].Kind = "scrape" }), "STAGE_BEGUN", "kind is strip"},
		"AfterNew": {append(edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["strip (top)"].After = []string{"tape"} }),
			workflow.PlanStage{Key: "tape", Kind: "mask_off"}), "STAGE_BEGUN", "after tape"},
		"AfterNothing": {edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["strip (top)"].After = nil }), "STAGE_BEGUN", "came after"},
		"OtherTimes":   {edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["strip (top)"].Attended = time.Minute }), "STAGE_BEGUN", "takes"},
		"OtherProduct": {edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["strip (top)"].Product = varnish.ID }), "STAGE_BEGUN", "done with"},
		"OtherGrit":    {edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["strip (top)"].Grit = "P80" }), "STAGE_BEGUN", "grit"},
		"OtherSkill":   {edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["strip (top)"].Skill = "" }), "STAGE_BEGUN", "skill"},
		"OtherNeeds":   {edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["strip (top)"].Needs = finish.NeedsCured }), "STAGE_BEGUN", "needs"},
		"OtherWindow":  {edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["strip (top)"].Latest = time.Hour }), "STAGE_BEGUN", "what comes next"},
		"OtherWhy":     {edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["strip (top)"].Why = "so" }), "STAGE_BEGUN", "why"},
		"BreaksARule":  {without(edit(plan.PlanBody, nothing), "block-stains (case)"), "RULE_BROKEN", "bleed-through"},
		"GoesRound":    {edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["stain (top)"].After = []string{"stain (top)"} }), "STAGES_GO_ROUND", "stain (top)"},
	} {
		_, err := amend(t, plan, f, c.stages)
		if g := fault.Of(err); !fault.Is(err, c.reason) || !strings.Contains(g.Text, c.says) {
			t.Errorf("%s: Amend = %v, want %s that says %q", name, err, c.reason, c.says)
		}
	}
	draft := plan
	draft.State = workflow.PlanDraft
	if _, err := amend(t, draft, f, draft.Stages); !fault.Is(err, "PLAN_NOT_APPROVED") {
		t.Errorf("Amend of a draft = %v, want PLAN_NOT_APPROVED", err)
	}
	f.Piece.Scrapped = true
	if _, err := amend(t, plan, f, plan.Stages); !fault.Is(err, "PIECE_SCRAPPED") {
		t.Errorf("Amend of a scrapped piece = %v, want PIECE_SCRAPPED", err)
	}
}

// Who answered for a rule in one version answers in the next, for the same stage alone.
func TestFinishPlan_Amend_CarriesOverrides(t *testing.T) {
	b := drafted(t, nil)
	b, err := b.Edit(without(edit(b, func(map[string]*workflow.PlanStage) {}), "block-stains (case)"), nil, nil, noHistory(t))
	if err != nil {
		t.Fatal(err)
	}
	odo := workflow.PlanOverride{Rule: "bleed-through", Person: id.New(), PersonName: "Odo", Reason: "it was sealed last year"}
	plan := workflow.FinishPlan{Piece: id.New(), Version: 1, State: workflow.PlanDraft, PlanBody: b}
	laid, err := plan.Approve(workflow.Piece{ID: plan.Piece}, []workflow.PlanOverride{odo}, "Nell", nine, id.New)
	if err != nil {
		t.Fatal(err)
	}
	f := workflow.Floor{Plan: laid, Begun: map[id.ID]bool{}}
	if a, err := amend(t, plan, f, another(edit(plan.PlanBody, func(map[string]*workflow.PlanStage) {}))); err != nil || a.Plan.Findings[0].Override == nil {
		t.Errorf("Amend = %v, %+v, want Odo to answer as before", err, a.Plan.Findings)
	}
	ivory := workflow.PlanProduct{ID: id.New(), Name: "ivory paint", Sheet: creamPaint.Sheet}
	repainted := edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["paint (case)"].Product = ivory.ID })
	if _, err := plan.Amend(f, workflow.Edits{Stages: repainted, Products: []workflow.PlanProduct{ivory}}, noHistory(t)); !fault.Is(err, "RULE_BROKEN") {
		t.Errorf("Amend with another paint = %v, want RULE_BROKEN: nobody answered for that one", err)
	}
	other := edit(plan.PlanBody, func(s map[string]*workflow.PlanStage) { s["paint (case)"].Key = "first-paint" })
	for i, s := range other {
		if k := slices.Index(s.After, "paint (case)"); k >= 0 {
			other[i].After[k] = "first-paint (case)"
		}
	}
	if _, err := amend(t, plan, f, other); !fault.Is(err, "RULE_BROKEN") {
		t.Errorf("Amend with another paint coat = %v, want RULE_BROKEN: nobody answered for that one", err)
	}
}
