package finish_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// doors are stained alike and seen side by side.
func doors() []finish.Part {
	parts := pair()
	for i := range parts {
		parts[i].Wanted = finish.Wanted{Look: finish.Stained, Topcoats: 1}
	}
	return parts
}

var oils = finish.Palette{Stain: product(finish.OilVarnish), Topcoat: product(finish.OilVarnish)}

// The doors meet when both are stained, and nothing covers either before that.
func TestPlanPiece_DoorsMatch(t *testing.T) {
	stages := planPiece(t, doors(), oils)
	look := slices.IndexFunc(stages, func(s finish.Stage) bool { return s.Key == "match-colour" })
	if look < 0 || stages[look].Step.Kind != finish.Inspect || stages[look].Skill != "inspect" || stages[look].Needs != finish.NeedsRecoat || len(stages[look].After) != 2 {
		t.Fatalf("no colour match: %+v", stages[look])
	}
	for _, before := range stages[look].After {
		if stages[before].Key != "stain" {
			t.Errorf("it waits for %s", stages[before].Title())
		}
	}
	for _, title := range []string{"topcoat (left)", "topcoat (right)"} {
		if s := find(t, stages, title); !slices.Contains(s.After, look) {
			t.Errorf("%s comes after %v, not after %d", title, s.After, look)
		}
	}
	alone := doors()
	alone[1].MatchGroup = ""
	if stages := planPiece(t, alone, oils); slices.ContainsFunc(stages, func(s finish.Stage) bool { return s.Key == "match-colour" }) {
		t.Error("one door is compared with nothing")
	}
}

// A door that nothing covers is compared before the piece is put together.
func TestPlanPiece_BareDoorsMatch(t *testing.T) {
	parts := doors()
	parts[0].Topcoats, parts[1].Topcoats = 0, 0
	stages := planPiece(t, parts, oils)
	film := find(t, stages, "film-check")
	if !slices.ContainsFunc(film.After, func(i int) bool { return stages[i].Key == "match-colour" }) {
		t.Errorf("the film is looked at after %v", film.After)
	}
}

// What somebody changed by hand in a good plan is found where it was changed.
func TestCheckPiece_Edited(t *testing.T) {
	at := func(stages []finish.Stage, title string) *finish.Stage { return &stages[stageAt(stages, title)] }
	for name, c := range map[string]struct {
		edit        func([]finish.Stage)
		rule, where string
	}{
		"Untouched":    {func([]finish.Stage) {}, "", ""},
		"CoarserPaper": {func(s []finish.Stage) { at(s, "sand-3 (left)").Step.Grit = finish.P(150) }, "grit-sequence", "sand-3 (left)"},
		"OtherGrit":    {func(s []finish.Stage) { at(s, "sand-3 (right)").Step.Grit = finish.P(220) }, "match-grit", "stain (right)"},
		"NoWait": {func(s []finish.Stage) {
			at(s, "stain (left)").Step.Wait = 0
			at(s, "match-colour").Needs = ""
			at(s, "topcoat (left)").Needs = ""
		}, "recoat-too-early", "topcoat (left)"},
		"NoWaitButNeeds":   {func(s []finish.Stage) { at(s, "stain (left)").Step.Wait = 0 }, "", ""},
		"NotCured":         {func(s []finish.Stage) { at(s, "topcoat (left)").Step.Wait = time.Hour; at(s, "hardware-on").Needs = "" }, "cure-before-use", "hardware-on"},
		"NotCuredButNeeds": {func(s []finish.Stage) { at(s, "topcoat (left)").Step.Wait = time.Hour }, "", ""},
		"HardwareFirst":    {func(s []finish.Stage) { at(s, "hardware-on").After = nil }, "cure-before-use", "hardware-on"},
		"NotCompared":      {func(s []finish.Stage) { x := at(s, "topcoat (left)"); x.After = x.After[:1] }, "colour-match", "topcoat (left)"},
		"HalfCompared":     {func(s []finish.Stage) { x := at(s, "match-colour"); x.After = x.After[:1] }, "colour-match", "topcoat (right)"},
		"NoDusting":        {func(s []finish.Stage) { at(s, "dust-off (right)").Step.Kind = "photograph" }, "dust-off", "stain (right)"},
		"FilmUnseen":       {func(s []finish.Stage) { on := at(s, "hardware-on"); on.After = at(s, "film-check").After }, "film-check", "hardware-on"},
		"HalfTheFilm": {func(s []finish.Stage) {
			x := at(s, "film-check")
			x.After = x.After[:1]
			on := at(s, "hardware-on")
			on.After = append(on.After, stageAt(s, "topcoat (right)"))
		}, "film-check", "hardware-on"},
		"HardwareUntried": {func(s []finish.Stage) { at(s, "hardware-check").Step.Point = "" }, "hardware-check", "hardware-on"},
		"OwnKind":         {func(s []finish.Stage) { at(s, "hardware-off").Step.Kind = "burn_in_a_brand" }, "", ""},
	} {
		stages := planPiece(t, doors(), oils)
		c.edit(stages)
		findings, err := finish.CheckPiece(doors(), stages)
		found := slices.ContainsFunc(findings, func(f finish.PieceFinding) bool { return f.Rule.ID == c.rule && stages[f.Stage].Title() == c.where })
		if grave := broken(findings, finish.Caution); err != nil || c.rule == "" && len(grave) > 0 || c.rule != "" && !found {
			t.Errorf("%s: %v, %v, want %s at %s", name, findings, err, c.rule, c.where)
		}
	}
}

// stageAt is the index of a stage.
func stageAt(stages []finish.Stage, title string) int {
	return slices.IndexFunc(stages, func(s finish.Stage) bool { return s.Title() == title })
}

// A rule that the whole piece breaks by a stage is found once, not for each part.
func TestCheckPiece_Once(t *testing.T) {
	stages := planPiece(t, doors(), oils)
	stages[len(stages)-3].After = nil
	findings, err := finish.CheckPiece(doors(), stages)
	if err != nil || !slices.Equal(broken(findings, finish.Stop), []string{"cure-before-use"}) || !strings.Contains(findings[0].String(), "cured before hardware") {
		t.Errorf("findings %v, %v", findings, err)
	}
}

func TestCheckPiece_Refuses(t *testing.T) {
	for name, c := range map[string]struct {
		edit         func([]finish.Part, []finish.Stage)
		reason, path string
	}{
		"Round":    {func(_ []finish.Part, s []finish.Stage) { s[0].After = []int{len(s) - 1} }, "STAGES_GO_ROUND", "stages[0]"},
		"Itself":   {func(_ []finish.Part, s []finish.Stage) { s[3].After = []int{3} }, "STAGES_GO_ROUND", "stages[3]"},
		"Nowhere":  {func(_ []finish.Part, s []finish.Stage) { s[1].After = []int{len(s)} }, "STAGE_UNKNOWN", "stages[1]"},
		"Before":   {func(_ []finish.Part, s []finish.Stage) { s[1].After = []int{-1} }, "STAGE_UNKNOWN", "stages[1]"},
		"Part":     {func(_ []finish.Part, s []finish.Stage) { s[2].Part = "lid" }, "PART_UNKNOWN", "stages[2]"},
		"Need":     {func(_ []finish.Part, s []finish.Stage) { s[2].Needs = "luck" }, "NEED_UNKNOWN", "stages[2]"},
		"Grit":     {func(_ []finish.Part, s []finish.Stage) { s[2].Step.Grit = finish.P(121) }, "GRIT_UNKNOWN", "stages[2].grit"},
		"Material": {func(p []finish.Part, _ []finish.Stage) { p[1].Material = "cheese" }, "MATERIAL_UNKNOWN", "parts[1].material"},
		"Nameless": {func(p []finish.Part, _ []finish.Stage) { p[1].Label = "" }, "PART_TWICE", "parts[1].label"},
	} {
		parts, stages := doors(), planPiece(t, doors(), oils)
		c.edit(parts, stages)
		findings, err := finish.CheckPiece(parts, stages)
		if f := fault.Of(err); f == nil || f.Reason != c.reason || f.Fields[0].Path != c.path || findings != nil {
			t.Errorf("%s: %v, %v, want %s at %s", name, findings, err, c.reason, c.path)
		}
	}
	if _, err := finish.CheckPiece(doors(), make([]finish.Stage, 4001)); !fault.Is(err, "PLAN_TOO_LONG") {
		t.Errorf("too many = %v, want PLAN_TOO_LONG", err)
	}
}

func twelve() []finish.Part {
	var parts []finish.Part
	for _, label := range strings.Fields("a b c d e f g h i j k l") {
		parts = append(parts, finish.Part{Label: label, AreaM2: 1, MatchGroup: "all", Assessment: finish.Assessment{Material: finish.SolidWood, Species: "oak", OldFinish: finish.OilVarnish}, Wanted: finish.Wanted{Look: finish.Stained, Topcoats: 3}})
	}
	return parts
}

func BenchmarkPlanPiece_Twelve(b *testing.B) {
	for b.Loop() {
		if _, err := finish.PlanPiece(twelve(), palette); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCheckPiece_Twelve(b *testing.B) {
	stages, err := finish.PlanPiece(twelve(), palette)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := finish.CheckPiece(twelve(), stages); err != nil {
			b.Fatal(err)
		}
	}
}
