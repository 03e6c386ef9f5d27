package piece

import (
	"slices"
	"strconv"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/pages/piece/film"
	"tackfree/services/gateway/internal/words"
)

func pathOf(p *intakev1.Piece) string { return "/pieces/" + strconv.Itoa(int(p.Tag)) }

// partView is a part with what lies on it and what was tried on it.
type partView struct {
	*intakev1.Part
	Ground  film.Ground
	Look    string // how it is to be; empty: no finish plan says
	Section film.Drawing
	Layers  []layerRow // from the top down, as a table reads
	Sum     string     // how thick the films are together; empty: there are none
	Stated  bool       // of each of them a sheet says it
	Tests   []*workflowv1.PartTest
	Lead    film.Lead
}

// layerRow is a layer with its thickness in the reader's units.
type layerRow struct {
	film.Layer
	Thick string
}

func partsOf(p *intakev1.Piece, f floorFacts, voice *words.Voice) (out []partView) {
	mils, point := voice.Units == words.Imperial, voice.T("decimal.point")
	for _, part := range p.Parts {
		wish := wishOf(f.plan, part.Name)
		v := partView{Part: part, Ground: film.GroundOf(wish.GetAssessment()), Look: wish.GetLook(), Tests: testsOf(f.tests, part.Name)}
		layers := film.Stack(v.Ground, stagesOf(f.stages, part.Name), f.sheets)
		v.Section = film.Draw(v.Ground, layers)
		for _, l := range slices.Backward(layers) {
			v.Layers = append(v.Layers, layerRow{l, film.Thickness(l.Microns, mils, point)})
		}
		if um, stated := sum(layers); um > 0 {
			v.Sum, v.Stated = film.Thickness(um, mils, point), stated
		}
		v.Lead = film.LeadOf(f.tests, part.Name)
		out = append(out, v)
	}
	return out
}

func wishOf(plan *workflowv1.FinishPlan, part string) *workflowv1.PartWish {
	for _, w := range plan.GetParts() {
		if w.Part == part {
			return w
		}
	}
	return nil
}

// stagesOf are the stages of a part and those of the whole piece.
func stagesOf(stages []*workflowv1.Stage, part string) (out []*workflowv1.Stage) {
	for _, s := range stages {
		if s.Part == part || s.Part == "" {
			out = append(out, s)
		}
	}
	return out
}

// testsOf are those of a part and of the whole piece, the newest first.
func testsOf(tests []*workflowv1.PartTest, part string) (out []*workflowv1.PartTest) {
	for _, t := range tests {
		if t.Part == part || t.Part == "" {
			out = append(out, t)
		}
	}
	return out
}

// sum is how thick the films are together, and whether sheets say all of it.
func sum(layers []film.Layer) (um float64, stated bool) {
	stated = true
	for _, l := range layers {
		if !l.Soaks {
			um += l.Microns
			stated = stated && l.Stated
		}
	}
	return um, stated
}

// familiesOf are those that the drawings need a pattern of.
func familiesOf(parts []partView) (out []string) {
	for _, family := range film.Families() {
		if slices.ContainsFunc(parts, func(p partView) bool {
			return slices.ContainsFunc(p.Layers, func(l layerRow) bool { return l.Family == family })
		}) {
			out = append(out, family)
		}
	}
	return out
}
