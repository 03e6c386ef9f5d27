package costing

import (
	"cmp"
	"slices"
)

// nearest orders names by how little somebody has mistyped them; of two alike they stay in their order.
func nearest(typed string, names []string) []string {
	return slices.SortedStableFunc(slices.Values(names), func(a, b string) int { return cmp.Compare(mistyped(typed, a), mistyped(typed, b)) })
}

// mistyped counts the letters that one must add, leave out or change to come from one word to another.
func mistyped(from, to string) int {
	row := make([]int, len(to)+1) // from no letter to each beginning of the other word
	for i := range row {
		row[i] = i
	}
	for i := range len(from) {
		before := row[0]
		row[0] = i + 1
		for j := range len(to) {
			changed := before
			if from[i] != to[j] {
				changed++
			}
			before, row[j+1] = row[j+1], min(changed, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(to)]
}
