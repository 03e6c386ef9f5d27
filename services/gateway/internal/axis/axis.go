// Package axis maps values onto a drawing and picks the round ones that its rule is marked with.
//
//	lowest and highest value ─▶ Axis ─▶ At (places on the sheet), Marks (1, 2 or 5 times a power of ten), Label
//
// All is whole numbers: values in minor units, days or whatever a drawing counts, places in units of the drawing.
package axis

import (
	"slices"
	"unicode/utf8"

	"tackfree/pkg/money"
)

// Axis runs from Low at From to High at To; From may be right of or below To.
type Axis struct {
	Low, High int64
	From, To  int
}

// Over is an axis that reaches over all values.
func Over(from, to int, values ...int64) Axis {
	return Axis{Low: slices.Min(values), High: slices.Max(values), From: from, To: to}
}

// At is the place of a value; what lies outside is put at the nearer end.
func (a Axis) At(v int64) int {
	if a.High == a.Low {
		return a.From
	}
	v = min(max(v, a.Low), a.High)
	return a.From + int(money.MulDiv(money.Amount(v-a.Low), int64(a.To-a.From), a.High-a.Low))
}

// Marks are the round values on the axis: multiples of 1, 2 or 5 times a power of ten, so that between
// them are at most so many spans.
func (a Axis) Marks(spans int64) (all []int64) {
	step := a.step(spans)
	first := a.Low / step * step
	if first < a.Low {
		first += step
	}
	for v := first; v <= a.High; v += step {
		all = append(all, v)
	}
	return all
}

func (a Axis) step(spans int64) int64 {
	step := int64(1)
	for _, factor := range slices.Repeat([]int64{2, 5, 10}, 18) {
		if (a.High-a.Low)/step <= spans {
			break
		}
		step = power(step) * factor
	}
	return step
}

// power is the power of ten that is not above a step.
func power(step int64) int64 {
	p := int64(1)
	for p*10 <= step {
		p *= 10
	}
	return p
}

// Mark is a mark of a rule, with its label where it has its place.
type Mark struct {
	X, Text int
	Anchor  string
	Label   string
}

// letter is the widest that a letter of a label comes to on average.
const letter = 7

// Label keeps a mark's label on a sheet that is so wide.
func Label(x int, label string, wide int) Mark {
	half := utf8.RuneCountInString(label) * letter / 2
	switch {
	case x-half < 0:
		return Mark{x, 0, "start", label}
	case x+half > wide:
		return Mark{x, wide, "end", label}
	}
	return Mark{x, x, "middle", label}
}
