package jobshop

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// No order of one machine is lost by edge finding: in none does an operation begin before its raised head, and where
// it says that there is no order, there is none.
func TestEdgeFinder_LosesNoOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		by := chance(rapid.Uint64().Draw(t, "seed"))
		for range 200 {
			var w []window
			var ops []int32
			for i := range 1 + by.below(5) {
				w = append(w, window{int32(by.below(10)), int32(by.below(7)), int32(by.below(10))})
				ops = append(ops, int32(i))
			}
			losesNone(t, ops, w, int32(8+by.below(24)), by.below(2) == 0)
		}
	})
}

func losesNone(t *rapid.T, ops []int32, w []window, limit int32, mirrored bool) {
	soonest := make([]int32, len(w))
	for i := range soonest {
		soonest[i] = unknown
	}
	some := orders(w, limit, mirrored, 0, make([]bool, len(w)), make([]int32, len(w)), soonest)
	raised := slices.Clone(w)
	_, ok := new(edgeFinder).raise(ops, raised, limit, mirrored)
	if !ok && some {
		t.Fatalf("%v within %d is refused, but has an order", w, limit)
	}
	for i := range raised {
		if ok && some && headOf(&raised[i], mirrored) > soonest[i] {
			t.Fatalf("%v within %d: operation %d can begin at %d, not only at %d", w, limit, i, soonest[i], headOf(&raised[i], mirrored))
		}
	}
}

// orders tries all orders of what is not done yet from free on, and notes when each operation begins at the soonest in
// one that keeps the limit.
func orders(w []window, limit int32, mirrored bool, free int32, done []bool, starts, soonest []int32) (some bool) {
	if !slices.Contains(done, false) {
		for i, s := range starts {
			soonest[i] = min(soonest[i], s)
		}
		return true
	}
	for i := range w {
		start := max(free, headOf(&w[i], mirrored))
		if done[i] || start+w[i].length+tailOf(&w[i], mirrored) > limit {
			continue
		}
		done[i], starts[i] = true, start
		some = orders(w, limit, mirrored, start+w[i].length, done, starts, soonest) || some
		done[i] = false
	}
	return some
}
