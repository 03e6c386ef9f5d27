package axis_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tackfree/services/gateway/internal/axis"
)

func TestAxis_Marks(t *testing.T) {
	for _, c := range []struct {
		low, high int64
		want      []int64
	}{
		{0, 1000, []int64{0, 500, 1000}}, {-320, 910, []int64{0, 500}}, {-1000, 1000, []int64{-1000, -500, 0, 500, 1000}},
		{7, 7, []int64{7}}, {0, 3, []int64{0, 1, 2, 3}}, {12, 47, []int64{20, 30, 40}},
	} {
		if got := (axis.Axis{Low: c.low, High: c.high}).Marks(4); !slices.Equal(got, c.want) {
			t.Errorf("Marks from %d to %d = %v, want %v", c.low, c.high, got, c.want)
		}
	}
}

// Whatever the values, places keep their order and stay on the sheet, and marks are few.
func TestAxis_Holds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Int64Range(-1e12, 1e12), 1, 30).Draw(t, "values")
		a := axis.Over(10, 310, values...)
		slices.Sort(values)
		before := 10
		for _, v := range values {
			x := a.At(v)
			if x < before || x > 310 {
				t.Fatalf("%d is at %d, after %d", v, x, before)
			}
			before = x
		}
		if a.At(a.Low-1) != a.At(a.Low) || a.At(a.High+1) != a.At(a.High) {
			t.Fatal("what lies outside leaves the sheet")
		}
		marks := a.Marks(4)
		if len(marks) > 6 || slices.ContainsFunc(marks, func(v int64) bool { return v < a.Low || v > a.High }) {
			t.Fatalf("marks %v from %d to %d", marks, a.Low, a.High)
		}
		if !slices.IsSorted(marks) || len(slices.Compact(slices.Clone(marks))) != len(marks) || a.High > a.Low && len(marks) < 2 {
			t.Fatalf("marks %v from %d to %d: each must be there once, and two at least", marks, a.Low, a.High)
		}
	})
}

func TestLabel_StaysOnTheSheet(t *testing.T) {
	for x, want := range map[int]string{2: "start", 160: "middle", 318: "end"} {
		if m := axis.Label(x, "1,000", 320); m.Anchor != want || m.X != x {
			t.Errorf("Label at %d = %+v, want %s", x, m, want)
		}
	}
}
