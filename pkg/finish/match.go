package finish

import (
	"fmt"
	"slices"
)

// group is the stained parts that are seen together and so must match.
type group struct {
	name  string
	parts []stainedPart
}

// stainedPart is where in the stages a part gets its colour.
type stainedPart struct {
	label   string
	grit    Grit // that its bare wood ended on
	stain   int  // index of its last stage that colours the wood
	next    int  // index of its stage after that; -1: none
	topcoat int  // index of its first topcoat; -1: none
}

// groups are the match groups in which two parts or more are stained. The stages are
// looked at in the order given.
func groups(parts []Part, stages []Stage, order []int) []group {
	var all []group
	at := map[string]int{}
	for _, p := range parts {
		if p.MatchGroup == "" {
			continue
		}
		s, stained := stainedOf(p.Label, stages, order)
		if !stained {
			continue
		}
		i, there := at[p.MatchGroup]
		if !there {
			i = len(all)
			at[p.MatchGroup] = i
			all = append(all, group{name: p.MatchGroup})
		}
		all[i].parts = append(all[i].parts, s)
	}
	return slices.DeleteFunc(all, func(g group) bool { return len(g.parts) < 2 })
}

func stainedOf(label string, stages []Stage, order []int) (s stainedPart, stained bool) {
	s = stainedPart{label: label, next: -1, topcoat: -1}
	var grit Grit
	for _, i := range order {
		if stages[i].Part != label {
			continue
		}
		if stained && s.next < 0 {
			s.next = i
		}
		switch k := stages[i].Step.Kind; {
		case inWood(k):
			s.stain, s.grit, s.next, stained = i, grit, -1, true
		case k == TopcoatCoat && s.topcoat < 0:
			s.topcoat = i
		case k == Sand:
			grit = stages[i].Step.Grit
		}
	}
	return s, stained
}

// match lets the stained parts of each group meet before anything covers their colour. A
// part that nothing covers meets them before it is put together.
func match(parts []Part, stages []Stage, last []int) ([]Stage, error) {
	all := make([]int, len(stages))
	for i := range all {
		all[i] = i
	}
	for n, g := range groups(parts, stages, all) {
		look, err := lookAt(PointColour, NeedsRecoat, "the parts that are seen together are compared by daylight; a lighter one gets more stain")
		if err != nil {
			return nil, err
		}
		if n > 0 {
			look.Key = fmt.Sprintf("%s-%d", look.Key, n+1)
		}
		at := len(stages)
		for _, p := range g.parts {
			look.After = append(look.After, p.stain)
			if p.next >= 0 {
				stages[p.next].After = append(stages[p.next].After, at)
				continue
			}
			i := slices.IndexFunc(parts, func(part Part) bool { return part.Label == p.label })
			last[i] = at
		}
		stages = append(stages, look)
	}
	return stages, nil
}

// findings are the rules that a group breaks.
func (g group) findings(stages []Stage) (all []PieceFinding) {
	for _, p := range g.parts {
		if p.grit != g.parts[0].grit {
			all = append(all, PieceFinding{p.stain, matchGrit})
		}
		if p.topcoat >= 0 && !g.compared(stages, p.topcoat) {
			all = append(all, PieceFinding{p.topcoat, colourMatch})
		}
	}
	return all
}

// compared reports whether somebody looks at all parts of the group, stained, before a
// stage.
func (g group) compared(stages []Stage, before int) bool {
	for i, leads := range leadingTo(stages, before) {
		if !leads || stages[i].Step.Kind != Inspect {
			continue
		}
		seen := leadingTo(stages, i)
		if !slices.ContainsFunc(g.parts, func(p stainedPart) bool { return !seen[p.stain] }) {
			return true
		}
	}
	return false
}
