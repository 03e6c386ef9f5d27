package costing

import (
	"cmp"
	"slices"
	"strings"
)

// UnknownKind is a kind of stage that no plan has, and kinds of plans that are spelled nearly so.
type UnknownKind struct {
	Kind string
	Near []string // the nearest first
}

// mostNear bounds how many kinds are named that somebody may have meant.
const mostNear = 3

// UnknownKinds are those of some kinds of stage that no plan has. A shop may invent kinds, so they are
// told, not refused.
func UnknownKinds(kinds, planned []string) (out []UnknownKind) {
	for _, kind := range kinds {
		if !slices.Contains(planned, kind) {
			out = append(out, UnknownKind{kind, nearTo(kind, planned)})
		}
	}
	return out
}

// nearTo are the words that differ from one in up to a third of its letters, or that it is a part of, or
// the other way round. The third is a rule of this program.
func nearTo(word string, words []string) (near []string) {
	steps := map[string]int{}
	for _, w := range words {
		steps[w] = stepsBetween(word, w)
		if 3*steps[w] <= len(word) || strings.Contains(w, word) || strings.Contains(word, w) {
			near = append(near, w)
		}
	}
	slices.SortFunc(near, func(a, b string) int { return cmp.Or(steps[a]-steps[b], strings.Compare(a, b)) })
	return near[:min(len(near), mostNear)]
}

// stepsBetween counts the letters that have to be put in, left out, changed or swapped with their neighbour
// to make one word of the other: F. Damerau, A technique for computer detection and correction of spelling
// errors, 1964, without a second change where something was swapped.
func stepsBetween(a, b string) int {
	steps := make([][]int, len(a)+1) // between the beginnings of both
	for i := range steps {
		steps[i] = make([]int, len(b)+1)
		steps[i][0] = i
	}
	for j := range steps[0] {
		steps[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			steps[i][j] = min(steps[i-1][j-1]+change, steps[i-1][j]+1, steps[i][j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				steps[i][j] = min(steps[i][j], steps[i-2][j-2]+1)
			}
		}
	}
	return steps[len(a)][len(b)]
}
