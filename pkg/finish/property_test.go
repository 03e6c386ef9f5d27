package finish_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

func somePalette(t *rapid.T) finish.Palette {
	p := finish.Palette{Paint: someProduct(t, "paint"), SecondPaint: someProduct(t, "second paint"), Glaze: someProduct(t, "glaze"), Stain: someProduct(t, "stain"), Toner: someProduct(t, "toner"),
		Topcoat: someProduct(t, "topcoat"), Oil: product(finish.DryingOil), Wax: product(finish.Wax), Eboniser: someProduct(t, "eboniser"), Liming: someProduct(t, "liming")}
	if rapid.Bool().Draw(t, "own tie coat") {
		p.TieCoat = product(finish.DewaxedShellac)
		p.TieCoat.BlocksStains = rapid.Bool().Draw(t, "that blocks")
	}
	if rapid.Bool().Draw(t, "primer") {
		p.Primer = someProduct(t, "primer")
	}
	return p
}

func someWish(t *rapid.T) finish.Wanted {
	looks := []finish.Look{finish.Painted, finish.Glazed, finish.Stained, finish.Clear, finish.Oiled, finish.Toned, finish.Ebonised, finish.Limewashed, finish.TwoTone}
	return finish.Wanted{Look: rapid.SampledFrom(looks).Draw(t, "look"), Coats: rapid.IntRange(0, 4).Draw(t, "coats"), Topcoats: rapid.IntRange(0, 3).Draw(t, "topcoats"), Waxed: rapid.Bool().Draw(t, "wax")}
}

// Whatever the parts: a plan breaks no rule but those that are notes, whichever way its
// stages are listed, and each part's chain keeps every wait of its steps.
func TestPlanPiece_PassesItsOwnCheck(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := somePalette(t)
		var parts []finish.Part
		for _, label := range []string{"top", "case", "drawers"}[:rapid.IntRange(1, 3).Draw(t, "parts")] {
			part := finish.Part{Label: label, AreaM2: rapid.Float64Range(0, 9).Draw(t, "area"), Assessment: somePart(t), Wanted: someWish(t), MatchGroup: rapid.SampledFrom([]string{"", "a", "b"}).Draw(t, "group")}
			if _, err := finish.PlanPart(part.Assessment, part.Wanted, p); err == nil {
				parts = append(parts, part)
			} else if !fault.Is(err, "PLAN_IMPOSSIBLE") {
				t.Fatal(err)
			}
		}
		if len(parts) == 0 {
			return
		}
		stages, err := finish.PlanPiece(parts, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, listed := range [][]finish.Stage{stages, shuffled(t, stages)} {
			findings, err := finish.CheckPiece(parts, listed)
			if grave := broken(findings, finish.Caution); err != nil || len(grave) > 0 {
				t.Fatalf("%v: %v, %v", titles(listed), findings, err)
			}
		}
		for i, s := range stages {
			if slices.ContainsFunc(s.After, func(before int) bool { return before >= i }) {
				t.Fatalf("%s comes before what it waits for", s.Title())
			}
		}
	})
}

func titles(stages []finish.Stage) (all []string) {
	for _, s := range stages {
		all = append(all, s.Title())
	}
	return all
}

// shuffled are the same stages in another order.
func shuffled(t *rapid.T, stages []finish.Stage) []finish.Stage {
	from := make([]int, len(stages))
	for i := range from {
		from[i] = i
	}
	from = rapid.Permutation(from).Draw(t, "order")
	now, out := make([]int, len(stages)), make([]finish.Stage, len(stages))
	for to, i := range from {
		now[i] = to
	}
	for to, i := range from {
		out[to] = stages[i]
		out[to].After = nil
		for _, before := range stages[i].After {
			out[to].After = append(out[to].After, now[before])
		}
	}
	return out
}

// Whatever is put on whatever, in whatever order: what Complete leaves broken is what no
// step can mend.
func TestComplete_RandomStacks(t *testing.T) {
	coats := []finish.Kind{finish.Prime, finish.BlockStains, finish.TieCoat, finish.PaintCoat, finish.StainCoat, finish.GlazeCoat, finish.TonerCoat, finish.OilCoat, finish.TopcoatCoat, finish.WaxCoat,
		finish.SealCoat, finish.Ebonise, finish.LimingCoat, finish.Mask, finish.Unmask, finish.ScuffSand, finish.HardwareOn}
	rapid.Check(t, func(t *rapid.T) {
		a := somePart(t)
		var steps []finish.Step
		for range rapid.IntRange(0, 6).Draw(t, "steps") {
			p := someProduct(t, "product")
			steps = append(steps, finish.Step{Kind: rapid.SampledFrom(coats).Draw(t, "kind"), Product: *p, Grit: finish.P(320)})
		}
		done, err := finish.Complete(a, steps)
		if err != nil {
			t.Fatal(err)
		}
		findings, err := finish.Check(a, done)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range findings {
			if f.Rule.HasRemedy() && !helpless(f, done) {
				t.Fatalf("%v: %v", kinds(done), f)
			}
		}
	})
}

// helpless reports what a remedy is there for and cannot mend here: the pores of sealed wood,
// what dried before it was wiped off, metal without a primer on hand.
func helpless(f finish.Finding, steps []finish.Step) bool {
	switch f.Rule.ID {
	case "pores-opened", "metal-primer":
		return true
	case "wipe-off":
		return steps[f.Step].Kind == finish.WipeOff
	}
	return false
}

// Whatever somebody did to a plan: Complete mends what can be mended, of the edited steps
// nothing is lost, and whoever answers for all stops of edited stages may go on.
func TestComplete_EditedPlans(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, part := somePalette(t), finish.Part{Label: "top", AreaM2: 1, Assessment: somePart(t), Wanted: someWish(t)}
		steps, err := finish.PlanPart(part.Assessment, part.Wanted, p)
		if fault.Is(err, "PLAN_IMPOSSIBLE") {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		for range rapid.IntRange(1, 4).Draw(t, "edits") {
			steps = edit(t, steps)
		}
		done, err := finish.Complete(part.Assessment, steps)
		if err != nil || !keeps(done, steps) {
			t.Fatalf("%v\nbecomes\n%v, %v", kinds(steps), kinds(done), err)
		}
		findings, err := finish.Check(part.Assessment, done)
		for _, f := range findings {
			if f.Rule.HasRemedy() && !helpless(f, done) {
				t.Fatalf("%v: %v", kinds(done), f)
			}
		}
		stages := stagesOf("top", steps...)
		if _, err2 := finish.CheckPiece([]finish.Part{part}, stages); err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
	})
}

// edit drops a step, does one twice, lets one wait for nothing, sands with another grade, or
// lets two change places.
func edit(t *rapid.T, steps []finish.Step) []finish.Step {
	if len(steps) < 2 {
		return steps
	}
	i := rapid.IntRange(0, len(steps)-2).Draw(t, "at")
	steps = slices.Clone(steps)
	switch rapid.IntRange(0, 4).Draw(t, "edit") {
	case 0:
		return slices.Delete(steps, i, i+1)
	case 1:
		return slices.Insert(steps, i, steps[i])
	case 2:
		steps[i].Wait = 0
	case 3:
		steps[i].Grit = rapid.SampledFrom([]finish.Grit{finish.P(40), finish.P(80), finish.P(150), finish.P(320)}).Draw(t, "grit")
	case 4:
		steps[i], steps[i+1] = steps[i+1], steps[i]
	}
	return steps
}

// keeps reports whether the steps are all there, in their order.
func keeps(done, steps []finish.Step) bool {
	i := 0
	for _, st := range done {
		if i < len(steps) && st == steps[i] {
			i++
		}
	}
	return i == len(steps)
}
